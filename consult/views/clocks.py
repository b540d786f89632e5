"""The clocks of the bowls: on the hair, looked at, rinsed, and a rinse that was a mistake."""

import datetime as dt
from collections.abc import Callable

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from consult import access, selectors, services
from consult.bench.check_times import is_long_before
from consult.bench.next_act import next_acts
from consult.forms import CheckForm, LeftoverForm, RinseReasonForm
from consult.models import BowlMixed, MarkKind, RinseWhy, Visit

# The bar shows the next act and the one after it; what is further on has its button above.
from consult.views.bench import drawn, times_of
from consult.views.doors import (
    at_step,
    facts_for,
    go_on,
    lead,
    posted_version,
    press,
    pressed_at,
    stale_in,
)
from consult.visit.path import Step
from salon import attempts
from salon.access import BENCH, SalonRequest, allow
from salon.submissions import once


@allow(BENCH)
@once
@require_POST
@at_step(Step.BENCH)
def start(request: SalonRequest, visit: Visit, bowl: int) -> HttpResponse:
    """Start a bowl's processing time."""
    return _mark(request, visit, bowl, services.start_processing)


@allow(BENCH)
@once
@require_POST
@at_step(Step.BENCH)
def end(request: SalonRequest, visit: Visit, bowl: int) -> HttpResponse:
    """Record that a bowl was rinsed."""
    return _mark(request, visit, bowl, services.end_processing)


@allow(BENCH)
@once
@require_POST
@at_step(Step.BENCH)
def check(request: SalonRequest, visit: Visit, bowl: int) -> HttpResponse:
    """Record what a look at a processing bowl showed; answer the bowl, redrawn."""
    form, missing = CheckForm(request.POST), _("Choose what you see.")
    is_noted = _answered(request, visit, bowl, form, services.note_check, missing=missing)
    if is_noted and request.htmx:
        return _one_bowl(request, visit, bowl)
    return lead(request, "consult:bench", visit.pk)


@allow(BENCH)
@once
@require_POST
@at_step(Step.BENCH)
def undo_end(request: SalonRequest, visit: Visit, bowl: int) -> HttpResponse:
    """Let the clock of a bowl run on whose rinse was pressed by mistake."""
    return _mark(request, visit, bowl, services.undo_rinse)


@allow(BENCH)
@once
@require_POST
@at_step(Step.BENCH)
def why_early(request: SalonRequest, visit: Visit, bowl: int) -> HttpResponse:
    """Record why a bowl was rinsed long before its time."""
    form, missing = RinseReasonForm(request.POST), _("Say why it was rinsed early.")
    if _answered(request, visit, bowl, form, services.give_rinse_reason, missing=missing):
        return go_on(request, visit)
    return lead(request, "consult:bench", visit.pk)


@allow(BENCH)
@once
@require_POST
@at_step(Step.BENCH)
def leftover(request: SalonRequest, visit: Visit, bowl: int) -> HttpResponse:
    """Record what is left in a bowl; answer the bowl, redrawn."""
    mixed = access.bowl_or_404(visit, bowl)
    form = LeftoverForm(request.POST, auto_id=f"id_left_{mixed.pk}_%s")
    tried = attempts.attempt(
        request,
        form,
        lambda data: services.weigh_leftover(
            bowl=mixed, by=request.user, at=timezone.now(), **data
        ),
        field="grams",
    )
    if tried.saved and not request.htmx:
        return lead(request, "consult:bench", visit.pk)
    if not request.htmx:
        return drawn(request, visit, tried, leftover=(mixed.pk, form))
    return _one_bowl(request, visit, mixed.pk, None if tried.saved else form, tried.status)


def _answered(
    request: SalonRequest,
    visit: Visit,
    bowl: int,
    form: CheckForm | RinseReasonForm,
    write: Callable[..., object],
    *,
    missing: str,
) -> bool:
    """Keep one answer about a bowl; say `missing` where nothing was chosen."""
    mixed = access.bowl_or_404(visit, bowl)
    if not form.is_valid():
        messages.error(request, missing)
        return False
    return press(
        request,
        visit,
        lambda: write(bowl=mixed, by=request.user, at=timezone.now(), **form.cleaned_data),
    ).saved


def _one_bowl(
    request: SalonRequest,
    visit: Visit,
    pk: int,
    form: LeftoverForm | None = None,
    status: int = 200,
) -> HttpResponse:
    """Answer one bowl, redrawn; `form` is what was refused of its rest."""
    fresh = next(b for b in selectors.bowls_of(visit) if b.pk == pk)
    selectors.fetch_leftovers([fresh])
    now = timezone.now()
    timed = times_of(fresh, next_acts(facts_for(request, visit), at=now), form)
    context = {
        "visit": visit,
        "timed": timed,
        "now": now,
        "facts": facts_for(request, visit),
        "rinse_reasons": RinseWhy.choices,
    }
    return render(request, "consult/_bowl.html", context, status=status)


def last_moment_of(bowl: BowlMixed) -> dt.datetime:
    """Return when a bowl was mixed, or its last mark was made."""
    return max([bowl.mixed_at, *(mark.marked_at for mark in bowl.marks.all())])


def _mark(
    request: SalonRequest, visit: Visit, bowl: int, write: Callable[..., object]
) -> HttpResponse:
    mixed = access.bowl_or_404(visit, bowl)
    tried = press(
        request,
        visit,
        lambda: write(
            bowl=mixed,
            by=request.user,
            at=pressed_at(request, not_before=last_moment_of(mixed)),
            expected_version=posted_version(request),
        ),
    )
    if stale_in(tried):
        return drawn(request, visit, tried)
    if tried.refusal:
        return lead(request, "consult:bench", visit.pk)
    end = mixed.marks.filter(kind=MarkKind.END).first()
    if end and is_long_before(mixed.formula, _minutes_left(mixed, end.marked_at)):
        return lead(request, "consult:bench", visit.pk)  # where it asks why
    return go_on(request, visit)


def _minutes_left(bowl: BowlMixed, at: dt.datetime) -> int:
    begun = bowl.marks.get(kind=MarkKind.START).marked_at
    return bowl.formula.processing_minutes - round((at - begun).total_seconds() / 60)
