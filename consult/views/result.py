"""The result beside the prediction; the visit closes."""

import datetime as dt
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from consult import access, services
from consult.bench import starting_values
from consult.forms import CloseForm, ResultForm, StopForm
from consult.history import histories
from consult.models import Visit
from consult.views.consultation import overview
from consult.views.doors import Attempt, at_step, attempt, lead, page
from consult.visit.path import Step
from salon.access import BENCH, SalonRequest, allow
from salon.submissions import once


@allow(BENCH)
@once
@require_http_methods(["GET", "POST"])
@at_step(Step.RESULT)
def result(request: SalonRequest, visit: Visit) -> HttpResponse:
    """Record what each group of zones shows, and compare it with the prediction at once."""
    posted, tried = None, Attempt()
    if request.method == "POST":
        posted = ResultForm(request.POST)
        tried = attempt(
            request,
            visit,
            posted,
            lambda data, version: services.see_result(
                visit=visit,
                by=request.user,
                at=timezone.now(),
                expected_version=version,
                **data,
            ),
        )
        if tried.saved:
            messages.success(request, _("Seen and on record."))
            return lead(request, "consult:result", visit.pk)
    groups = [
        {"group": group, "form": _form(group, posted)}
        for group in histories.told_one(visit).groups
    ]
    return page(request, visit, "result", {"groups": groups}, tried)


def _form(group: histories.ToldGroup, posted: ResultForm | None) -> ResultForm:
    if posted is not None and posted["zones"].value() == group.zones:
        return posted
    told = group.promised
    initial: dict[str, Any] = {
        "zones": group.zones,
        "level": round(told["level"]["value"] * 2) / 2,
        "warmth_left_percent": 5 * round(told["warmth_left_percent"]["value"] / 5),
    }
    return ResultForm(initial=initial, prefix=None)


@allow(BENCH)
@once
@require_http_methods(["GET", "POST"])
@at_step(Step.CARD)
def card(request: SalonRequest, visit: Visit) -> HttpResponse:
    """Show the whole visit before it closes, with the next one proposed."""
    now = timezone.now()
    proposed = starting_values.next_visit(visit, at=now)
    slots = starting_values.free_slots(visit, near=_day_asked(request, proposed.date), at=now)
    form = CloseForm(
        request.POST or None, slots=slots, initial={"next_visit_date": proposed.date}
    )
    tried = attempt(
        request,
        visit,
        form,
        lambda data, version: services.close_visit(
            visit=visit, by=request.user, at=now, expected_version=version, **data
        ),
    )
    if tried.saved:
        messages.success(request, _("The visit is closed. The card is ready."))
        return redirect("consult:visit", visit.pk)
    context = {"form": form, "told": histories.told_one(visit), "proposed": proposed}
    return page(request, visit, "card", context, tried)


def _day_asked(request: SalonRequest, proposed: dt.date) -> dt.date:
    """Return the day whose neighbourhood is offered: the one typed, else the proposed one."""
    try:
        typed = forms.DateField().clean(request.POST.get("next_visit_date", ""))
    except forms.ValidationError:
        return proposed
    far = proposed + dt.timedelta(days=366)
    return min(max(typed, timezone.localdate()), far)


@allow(BENCH)
@require_POST
@at_step(Step.CARD)
def slots(request: SalonRequest, visit: Visit) -> HttpResponse:
    """Answer the free times near the day that was typed: a fragment of the closing form."""
    now = timezone.now()
    proposed = starting_values.next_visit(visit, at=now).date
    near = _day_asked(request, proposed)
    form = CloseForm(slots=starting_values.free_slots(visit, near=near, at=now))
    return render(request, "consult/_slots.html", {"form": form})


@allow(BENCH)
@once
@require_POST
def stop(request: SalonRequest, pk: int) -> HttpResponse:
    """End a visit without colour."""
    visit = access.visit_or_404(request, pk)
    form = StopForm(request.POST)
    tried = attempt(
        request,
        visit,
        form,
        lambda data, version: services.stop_visit(
            visit=visit,
            by=request.user,
            at=timezone.now(),
            expected_version=version,
            **data,
        ),
    )
    if tried.saved:
        messages.success(request, _("The visit has ended without colour."))
        return redirect("consult:today")
    return page(request, visit, "visit", {**overview(visit), "stop_form": form}, tried)
