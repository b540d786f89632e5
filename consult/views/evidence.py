"""The owner's page on what proves that sign-offs are as they were signed."""

from pathlib import Path

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods

from consult import access, selectors, tasks
from consult.agreement import anchor_mail, anchor_places, evidence
from salon import timestamps
from salon.access import OWNER, SalonRequest, allow
from salon.work import status

PAGE = 25


@allow(OWNER)
@require_http_methods(["GET", "POST"])
def evidence_page(request: SalonRequest) -> HttpResponse:
    """Show the last anchor and where it is; anchor now, or verify everything now."""
    if request.method == "POST":
        if evidence.newest(request.salon):
            tasks.anchor_now.enqueue(request.user.pk)
            messages.success(
                request,
                _("The anchor is being made. Under Anchors you see where it has arrived."),
            )
        else:
            messages.warning(request, _("Nothing is signed yet."))
        return redirect("consult:evidence")
    rows = Paginator(selectors.anchors_of(salon=request.salon), PAGE)
    page = rows.get_page(request.GET.get("page"))
    context = {
        "page": page,
        "lines": anchor_mail.lines(page),
        "is_queued": status.is_queued(tasks.anchor_now, request.user.pk),
        "newest": evidence.newest(request.salon),
        "last": evidence.last_anchor(request.salon),
        "folder": anchor_places.folder_of(request.salon.pk),
        "has_authority": timestamps.is_set(),
        "addresses": selectors.owner_addresses(salon=request.salon),
        "findings": evidence.look(request.salon) if "check" in request.GET else None,
    }
    return render(request, "consult/evidence.html", context)


@allow(OWNER)
@require_GET
def anchor_file(request: SalonRequest, pk: int) -> HttpResponse:
    """Give an anchor as a file to keep elsewhere, or the time stamp that belongs to it."""
    anchor = access.anchor_or_404(request, pk)
    name = anchor_places.name_of(anchor)
    content, kind = anchor.text.encode(), "text/plain; charset=utf-8"
    if anchor.stamp and "stamp" in request.GET:
        name = str(anchor_places.stamp_beside(Path(name)))
        content, kind = anchor.stamp_file, "application/timestamp-reply"
    response = HttpResponse(content, content_type=kind)
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    return response
