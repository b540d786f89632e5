"""Entries that may be one person: reviewed, merged, and made two again."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from clients import access, selectors, services
from clients.forms import MergeForm
from clients.models import Client
from clients.people import duplicates as twins
from salon.access import DESK, SalonRequest, allow
from salon.attempts import attempt, press
from salon.numbers import row_number
from salon.submissions import once
from salon.tablet.witness import WitnessForm, with_witness


@allow(DESK)
@require_GET
def duplicates(request: SalonRequest) -> HttpResponse:
    """Show pairs that may be one person, and merges that can be undone."""
    pairs = twins.to_review(salon=request.salon)
    context = {
        "pairs": [pair for pair in pairs if pair.may_be_one],
        "families": [p for p in pairs if not (p.may_be_one or p.is_household)],
        "merges": selectors.merges_in_force(salon=request.salon)[:20],
    }
    return render(request, "clients/duplicates.html", context)


def _posted(request: SalonRequest, name: str) -> Client:
    return _named(request, request.POST.get(name))


def _named(request: SalonRequest, number: str | None) -> Client:
    return access.client_or_404(request, row_number(number or "") or 0)


@allow(DESK)
@with_witness
@once
@require_http_methods(["GET", "POST"])
def merge(request: SalonRequest) -> HttpResponse:
    """Show two entries side by side, ask which values stay, and make them one person."""
    values = request.POST or request.GET
    if request.method == "GET" and "kept" not in values:
        return redirect("clients:duplicates")
    kept, merged = _named(request, values.get("kept")), _named(request, values.get("merged"))
    posted = request.POST if request.method == "POST" else None
    form = MergeForm(posted, kept=kept, merged=merged, by=request.user)
    tried = attempt(
        request,
        form,
        lambda data: services.merge_clients(
            kept=kept,
            merged=merged,
            by=request.user,
            at=timezone.now(),
            values=form.values(),
            witness=request.witness,
            is_same_body=data["is_same_body"],
        ),
    )
    if tried.saved:
        messages.success(request, _("Merged. You can undo it here."))
        return redirect("clients:duplicates")
    context = {
        "form": form,
        "kept": kept,
        "merged": merged,
        "needs_second": services.needs_second_person(kept, merged),
    }
    return render(request, "clients/merge.html", context, status=tried.status)


@allow(DESK)
@with_witness
@require_http_methods(["GET", "POST"])
def confirm_merge(request: SalonRequest, pk: int) -> HttpResponse:
    """Ask an owner or a second person whether two merged entries are the same body."""
    found = access.merge_or_404(request, pk)
    form = WitnessForm(request.POST if request.method == "POST" else None, by=request.user)
    tried = attempt(
        request,
        form,
        lambda _data: services.confirm_same_body(
            merge=found, by=request.user, at=timezone.now(), witness=request.witness
        ),
    )
    if tried.saved:
        messages.success(request, _("Confirmed. The patch tests of both entries now count."))
        return redirect("clients:duplicates")
    context = {"form": form, "merge": found}
    return render(request, "clients/confirm_merge.html", context, status=tried.status)


@allow(DESK)
@require_POST
def undo_merge(request: SalonRequest, pk: int) -> HttpResponse:
    """Make them two again."""
    merge = access.merge_or_404(request, pk)
    tried = press(
        request, lambda: services.undo_merge(merge=merge, by=request.user, at=timezone.now())
    )
    if tried.result:
        messages.success(request, _("Merge undone: these are two clients again."))
        for name in services.undone_check_ins(merge=tried.result):
            messages.warning(
                request,
                _("The check-in of %(name)s relied on this merge and has been undone.")
                % {"name": name},
            )
    return redirect("clients:duplicates")


@allow(DESK)
@require_POST
def not_the_same(request: SalonRequest) -> HttpResponse:
    """Record that two entries are two people."""
    services.record_not_the_same(
        first=_posted(request, "kept"),
        second=_posted(request, "merged"),
        by=request.user,
        at=timezone.now(),
    )
    return redirect("clients:duplicates")
