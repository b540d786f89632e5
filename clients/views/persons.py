"""Entries that may be one person: reviewed, merged, and made two again."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST

from clients import access, selectors, services
from clients.models import Client
from clients.people import duplicates as twins
from salon.access import DESK, SalonRequest, allow
from salon.numbers import row_number
from salon.submissions import once


@allow(DESK)
@require_GET
def duplicates(request: SalonRequest) -> HttpResponse:
    """Show pairs that may be one person, and merges that can be undone."""
    context = {
        "pairs": twins.to_review(salon=request.salon),
        "merges": selectors.standing_merges(salon=request.salon)[:20],
    }
    return render(request, "clients/duplicates.html", context)


def _posted(request: SalonRequest, name: str) -> Client:
    return access.client_or_404(request, row_number(request.POST.get(name, "")) or 0)


@allow(DESK)
@once
@require_POST
def merge(request: SalonRequest) -> HttpResponse:
    """Make two entries one person."""
    kept, merged = _posted(request, "kept"), _posted(request, "merged")
    try:
        services.merge_clients(kept=kept, merged=merged, by=request.user, at=timezone.now())
        messages.success(request, _("They are one now. It can be undone here."))
    except services.MergeRefused as refusal:
        messages.error(request, str(refusal))
    return redirect("clients:duplicates")


@allow(DESK)
@require_POST
def undo_merge(request: SalonRequest, pk: int) -> HttpResponse:
    """Make them two again."""
    try:
        services.undo_merge(
            merge=access.merge_or_404(request, pk), by=request.user, at=timezone.now()
        )
        messages.success(request, _("They are two again."))
    except services.MergeRefused as refusal:
        messages.error(request, str(refusal))
    return redirect("clients:duplicates")


@allow(DESK)
@require_POST
def not_the_same(request: SalonRequest) -> HttpResponse:
    """Record that two entries are two people."""
    services.say_not_the_same(
        first=_posted(request, "kept"),
        second=_posted(request, "merged"),
        by=request.user,
        at=timezone.now(),
    )
    return redirect("clients:duplicates")
