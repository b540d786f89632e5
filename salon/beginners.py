"""The pages for beginners: the words of the trade, and each page's explanation."""

from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_GET, require_POST

from salon import services
from salon.access import DESK, SalonRequest, allow
from salon.helps import HELPS
from salon.words import WORDS


@allow(DESK)
@require_GET
def words(request: SalonRequest) -> HttpResponse:
    """List the terms with their meanings."""
    return render(request, "salon/words.html", {"words": WORDS})


@allow(DESK)
@require_POST
def page_help(request: SalonRequest, key: str) -> HttpResponse:
    """Put a page's explanation away for this person, or bring it back."""
    if key not in HELPS:
        raise Http404
    shown = request.POST.get("shown") == "1"
    services.show_help(by=request.user, key=key, shown=shown)
    back = request.POST.get("next", "/")
    if not url_has_allowed_host_and_scheme(back, allowed_hosts={request.get_host()}):
        back = "/"
    if request.htmx:
        context = {"help": HELPS[key], "is_open": shown, "next": back}
        return render(request, "components/page_help.html", context)
    return redirect(back)
