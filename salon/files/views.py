"""The page of the files that the worker makes for somebody."""

from django.http import HttpResponse, StreamingHttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from salon.access import OWNER, SalonRequest, allow, prepared_file_or_404
from salon.attempts import press
from salon.files import giving, kinds, selectors, services
from salon.files.tidying import KEPT
from salon.work.status import is_worker_alive


@allow(OWNER)
@require_GET
def files(request: SalonRequest) -> HttpResponse:
    """Show what is being prepared, how far it is, and what can be fetched."""
    rows = selectors.files_of(by=request.user, at=timezone.now())
    is_open = any(row.file.is_open for row in rows)
    context = {
        "rows": rows,
        "is_open": is_open,
        "is_worker_alive": not is_open or is_worker_alive(),
        "hours": round(KEPT.total_seconds() / 3600),
    }
    return render(request, "salon/files.html", context)


@allow(OWNER)
@require_POST
def cancel(request: SalonRequest, pk: int) -> HttpResponse:
    """Prepare a file no further."""
    file = prepared_file_or_404(request, pk)
    press(request, lambda: services.cancel_file(file=file, by=request.user, at=timezone.now()))
    return redirect("salon:files")


@allow(OWNER)
@require_POST
def again(request: SalonRequest, pk: int) -> HttpResponse:
    """Prepare the same file again, of now."""
    file = prepared_file_or_404(request, pk)
    press(request, lambda: services.ask_again(file=file, by=request.user, at=timezone.now()))
    return redirect("salon:files")


@allow(OWNER)
@require_POST
def fetch(request: SalonRequest, pk: int) -> HttpResponseBase:
    """Give a file to who asked for it, if they may still have it."""
    file, at = prepared_file_or_404(request, pk), timezone.now()
    tried = press(request, lambda: services.fetch_file(file=file, by=request.user, at=at))
    if tried.result is None:
        return redirect("salon:files")
    kind = kinds.of(file.kind)
    response = StreamingHttpResponse(tried.result, content_type=kind.content_type)
    # Said beforehand, so that a browser knows a download that broke off for what it is.
    response["Content-Length"] = str(file.size)
    wanted = kinds.request_of(file, by=request.user, at=file.requested_at)
    return giving.download(kind, wanted, response, opens=False)
