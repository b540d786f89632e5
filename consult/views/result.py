"""The result beside the prediction; the visit closes."""

import datetime as dt

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from clients.models import AccessKind
from consult import access, services
from consult.bench import outcome, starting_values
from consult.forms import CloseForm, ResultForm, StopForm
from consult.forms.result import Compared
from consult.history.visit_record import of_records
from consult.models import BowlMixed, Visit
from consult.views.consultation import overview
from consult.views.doors import at_step, attempt, facts_for, lead, page
from consult.visit.facts import VisitFacts
from consult.visit.path import Step
from formulas.drawing import strands
from formulas.engine_inputs import ground_of
from salon.access import BENCH, SalonRequest, allow
from salon.submissions import once


@allow(BENCH, shows=AccessKind.VISIT)
@once
@require_http_methods(["GET", "POST"])
@at_step(Step.RESULT)
def result(request: SalonRequest, visit: Visit) -> HttpResponse:
    """Record what every zone shows, beside the strands that were predicted."""
    now = timezone.now()
    facts = facts_for(request, visit)
    form = ResultForm(request.POST or None, groups=_strands(visit, facts, at=now))
    tried = attempt(
        request,
        visit,
        form,
        lambda data, version: services.see_results(
            visit=visit,
            looks=form.looks,
            evenness=data["evenness"],
            client_word=data["client_word"],
            note=data["note"],
            by=request.user,
            at=now,
            expected_version=version,
        ),
    )
    if tried.saved:
        messages.success(request, _("Result saved."))
        is_done = facts_for(request, visit).is_open(Step.CARD)
        return lead(request, "consult:card" if is_done else "consult:result", visit.pk)
    groups = [
        group for group in of_records(facts_for(request, visit).records).groups if group.result
    ]
    context = {"form": form, "groups": groups, "undoable": _undoable(request, visit, at=now)}
    return page(request, visit, "result", context, tried)


def _undoable(request: SalonRequest, visit: Visit, *, at: dt.datetime) -> list[BowlMixed]:
    """Return the bowls whose rinse can still be undone, as "Rinsed" leads here."""
    facts = facts_for(request, visit)
    return [state.bowl for state in facts.bowls if facts.may_undo_rinse(state, at=at)]


def _strands(visit: Visit, facts: VisitFacts, *, at: dt.datetime) -> dict[str, Compared]:
    """Return the strands to compare with, of every group that was on and is rinsed."""
    chart = ground_of(visit.line).chart
    found = {}
    for group in facts.toned:
        if not group.is_running:
            predicted = outcome.predicted_on(visit, group, at=at)
            found[group.zones] = Compared(
                strands.depth_strands(chart, predicted),
                strands.warmth_strands(chart, predicted),
            )
    return found


@allow(BENCH, shows=AccessKind.VISIT)
@once
@require_http_methods(["GET", "POST"])
@at_step(Step.CARD)
def card(request: SalonRequest, visit: Visit) -> HttpResponse:
    """Show the whole visit before it closes, with the next one proposed."""
    now = timezone.now()
    proposed = starting_values.next_visit(visit, at=now)
    slots = starting_values.free_slots(
        visit, near=_day_requested(request, proposed.date), at=now
    )
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
    context = {
        "form": form,
        "record": of_records(facts_for(request, visit).records),
        "proposed": proposed,
    }
    return page(request, visit, "card", context, tried)


def _day_requested(request: SalonRequest, proposed: dt.date) -> dt.date:
    """Return the day whose neighbourhood is offered: the one typed, else the proposed one."""
    try:
        typed: dt.date = forms.DateField().clean(request.POST.get("next_visit_date", ""))
    except forms.ValidationError:
        return proposed
    latest = proposed + dt.timedelta(days=366)
    return min(max(typed, timezone.localdate()), latest)


@allow(BENCH)
@require_POST
@at_step(Step.CARD)
def slots(request: SalonRequest, visit: Visit) -> HttpResponse:
    """Answer the free times near the day that was typed: a fragment of the closing form."""
    now = timezone.now()
    proposed = starting_values.next_visit(visit, at=now).date
    near = _day_requested(request, proposed)
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
    return page(request, visit, "visit", {**overview(request, visit), "stop_form": form}, tried)
