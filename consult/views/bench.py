"""The bench: weigh, start, rinse."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from clients.models import AccessKind
from consult import selectors, services
from consult.bench import swap, weighing
from consult.bench.next_act import NextAct, next_acts
from consult.bench.on_the_shelf import (
    Shortage,
    parts_without,
    shortages,
    stock_after,
    stock_by_shade,
)
from consult.bench.swap import Swap
from consult.bench.timed_bowl import TimedBowl, timed
from consult.forms import BowlForm, LeftoverForm
from consult.models import BowlMixed, Formula, RinseWhy, Visit
from consult.views.doors import (
    at_step,
    attempt,
    facts_for,
    lead,
    page,
)
from consult.visit.path import Step
from formulas import mixing
from salon import attempts
from salon.access import BENCH, SalonRequest, allow
from salon.attempts import Attempt
from salon.submissions import once


@dataclass(frozen=True)
class Sheet:
    """What is weighed for one formula, as the page draws it.

    `rescaled` and `mixture` are of what is typed; `mixed` counts the bowls poured already.
    """

    formula: Formula
    form: BowlForm
    mixture: mixing.Mixture | None = None
    rescaled: weighing.Rescaled | None = None
    mixed: int = 0
    is_posted: bool = False
    is_next: bool = False
    shortages: Sequence[Shortage] = ()
    left_parts: str = ""
    is_swapping: bool = False
    swap: Swap | None = None


# The bar shows the next act and the one after it; what is further on has its button above.
IN_THE_BAR = 2


@allow(BENCH, shows=AccessKind.VISIT)
@once
@require_http_methods(["GET", "POST"])
@at_step(Step.BENCH)
def bench(request: SalonRequest, visit: Visit) -> HttpResponse:
    """Show what is to be weighed and what is on the hair; record a bowl as poured."""
    formulas = list(facts_for(request, visit).formulas)
    batches = weighing.batches_in_use(visit.line)
    posted: BowlForm | None = None
    tried: Attempt[object] = Attempt()
    if request.method == "POST":
        posted = BowlForm(request.POST, mix=posted_formula(request, formulas), batches=batches)
        tried = attempt(
            request,
            visit,
            posted,
            lambda data, version: services.mix_bowl(
                visit=visit,
                formula=posted.mix,
                poured=posted.poured,
                batches=posted.batches,
                developer_grams=posted.developer,
                developer_percent=data["developer_percent"],
                made_from=posted.made_from,
                developer_batch=data["developer_batch"],
                note=data["note"],
                by=request.user,
                at=timezone.now(),
                expected_version=version,
            ),
        )
        if tried.saved:
            messages.success(request, _("Bowl saved and taken out of stock."))
            return lead(request, "consult:bench", visit.pk)
    return drawn(request, visit, tried, posted)


def drawn(
    request: SalonRequest,
    visit: Visit,
    tried: Attempt[Any],
    posted: BowlForm | None = None,
    *,
    swapping: Formula | None = None,
    refused: Sequence[str] = (),
    leftover: tuple[int, LeftoverForm] | None = None,
) -> HttpResponse:
    """Draw the bench; `swapping` is the formula whose swap was refused, and why.

    `leftover` is the bowl whose rest was refused, with its form.
    """
    facts = facts_for(request, visit)
    batches = weighing.batches_in_use(visit.line)
    bowls = [state.bowl for state in facts.bowls]
    selectors.fetch_leftovers(bowls)
    acts = next_acts(facts, at=timezone.now())
    sheet = partial(_sheet, posted=posted, batches=batches, bowls=bowls, acts=acts)
    to_swap = str(swapping.pk) if swapping else request.GET.get("swap", "")
    sheets = [
        _with_shelf(request, visit, sheet(formula), to_swap=to_swap)
        for formula in facts.formulas
    ]
    context = {
        "sheets": sheets,
        "bowls": [
            times_of(bowl, acts, leftover[1] if leftover and leftover[0] == bowl.pk else None)
            for bowl in bowls
        ],
        "acts": acts,
        "rinse_reasons": RinseWhy.choices,
        "swap_refused": refused,
    }
    return page(request, visit, "bench", context, tried)


def _with_shelf(request: SalonRequest, visit: Visit, sheet: Sheet, *, to_swap: str) -> Sheet:
    """Return a sheet with what the shelf cannot fill, and the nearest mix once asked for."""
    formula, stock = sheet.formula, stock_by_shade(visit.line)
    missing = shortages(formula, stock, before=_weighed_before(request, visit, formula))
    is_swapping = bool(missing) and to_swap == str(formula.pk)
    return replace(
        sheet,
        shortages=missing,
        left_parts=parts_without(formula, missing) if missing else "",
        is_swapping=is_swapping,
        swap=nearest_mix(request, visit, formula) if is_swapping else None,
    )


def nearest_mix(request: SalonRequest, visit: Visit, formula: Formula) -> Swap | None:
    """Return the nearest mix that the shelf fills beside the bowls that are weighed before."""
    before = _weighed_before(request, visit, formula)
    stock = stock_after(stock_by_shade(visit.line), before)
    return swap.nearest(visit, formula, stock, at=timezone.now())


def _weighed_before(request: SalonRequest, visit: Visit, formula: Formula) -> list[Formula]:
    """Return the formulas whose bowls are still to be weighed before this one."""
    facts = facts_for(request, visit)
    mixed = {state.formula.pk for state in facts.bowls}
    found: list[Formula] = []
    for earlier in facts.formulas:
        if earlier.pk == formula.pk:
            break
        if earlier.pk not in mixed:
            found.append(earlier)
    return found


def posted_formula(request: SalonRequest, formulas: Sequence[Formula]) -> Formula:
    found = next((f for f in formulas if str(f.pk) == request.POST.get("formula")), None)
    if found is None:
        raise Http404(_("This is not the current formula of this visit."))
    return found


def _sheet(
    formula: Formula,
    *,
    posted: BowlForm | None,
    batches: dict[int, str],
    bowls: list[BowlMixed],
    acts: Sequence[NextAct],
) -> Sheet:
    """Return the weighing sheet of a formula, with what was typed where it was refused."""
    is_posted = posted is not None and posted.mix.pk == formula.pk
    form = posted if is_posted and posted else BowlForm(mix=formula, batches=batches)
    return Sheet(
        formula,
        form,
        mixture=weighing.planned_mixture(form) if not is_posted else None,
        mixed=sum(bowl.formula_id == formula.pk for bowl in bowls),
        is_posted=is_posted,
        is_next=formula.pk in {act.formula for act in acts[:IN_THE_BAR]},
    )


def times_of(
    bowl: BowlMixed, acts: Sequence[NextAct], leftover: LeftoverForm | None = None
) -> TimedBowl:
    """Return a bowl with its times; the bar shows the buttons of what comes next."""
    return timed(
        bowl,
        is_in_bar=bowl.pk in {act.bowl for act in acts[:IN_THE_BAR]},
        leftover_form=leftover or LeftoverForm(auto_id=f"id_left_{bowl.pk}_%s"),
    )


@allow(BENCH)
@require_POST
@at_step(Step.BENCH)
def rescale(request: SalonRequest, visit: Visit) -> HttpResponse:
    """Answer what is still to be poured, and what the bowl then is: the sheet, redrawn.

    The page takes from it only what nobody has changed since it was asked for (weigh.js).
    """
    form = BowlForm(
        request.POST, mix=posted_formula(request, facts_for(request, visit).formulas)
    )
    sheet = Sheet(form.mix, form)
    tried = attempts.attempt(request, form, lambda _data: weighing.rescale(form))
    if tried.result:
        sheet = replace(
            sheet,
            form=weighing.followed(form, tried.result),
            rescaled=tried.result,
            mixture=tried.result.mixture,
        )
    status = 200 if tried.saved else tried.status
    context = {"visit": visit, "sheet": sheet}
    return render(request, "consult/_weigh.html", context, status=status)
