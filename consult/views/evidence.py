"""The owner's page on what proves that sign-offs are as they were signed."""

from pathlib import Path

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods

from consult import access, selectors, services
from consult.agreement import anchor_places, evidence
from salon import timestamps
from salon.access import OWNER, SalonRequest, allow

PAGE = 25


@allow(OWNER)
@require_http_methods(["GET", "POST"])
def evidence_page(request: SalonRequest) -> HttpResponse:
    """Show the last anchor and where it is; anchor now, or verify everything now."""
    if request.method == "POST":
        anchor = services.anchor_sign_offs(
            salon=request.salon, by=request.user, at=timezone.now()
        )
        if anchor is None:
            messages.warning(request, _("Nothing is signed yet."))
        elif not anchor.is_outside:
            messages.warning(request, _("The anchor could not be sent anywhere outside."))
        elif anchor.faults:
            messages.warning(request, _("Anchored, but not everywhere."))
        else:
            messages.success(request, _("Anchored."))
        return redirect("consult:evidence")
    rows = Paginator(selectors.anchors_of(salon=request.salon), PAGE)
    context = {
        "page": rows.get_page(request.GET.get("page")),
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
