"""The formula: taken, changed or written, with the prediction following."""

import datetime as dt
from collections.abc import Sequence
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from clients.models import AccessKind
from consult import selectors, services
from consult.agreement import planning
from consult.bench import comparison, recipes
from consult.bench.reasons import Reason
from consult.bench.shared_bowl import SharedBowl, shared_bowls
from consult.forms import FormulaForm, parts_from_text, rinse_name
from consult.models import Source, Visit
from consult.views.doors import (
    at_step,
    attempt,
    facts_for,
    go_on,
    lead,
    page,
    steps_of,
)
from consult.visit.path import Step
from formulas import mixing
from formulas.models import Shade
from formulas.selectors import shades_in_stock
from salon.access import BENCH, SalonRequest, allow
from salon.attempts import Attempt
from salon.reading_once import reading_once
from salon.submissions import once


@allow(BENCH, shows=AccessKind.VISIT)
@once
@require_http_methods(["GET", "POST"])
@at_step(Step.FORMULA)
def formula(request: SalonRequest, visit: Visit) -> HttpResponse:
    """Offer ranked mixes for each signed place; take one, or open it to change it."""
    now = timezone.now()
    shades = list(shades_in_stock(line=visit.line))
    shared: list[SharedBowl] = []
    try:
        with reading_once():
            offers = _offers(request, visit, shades, at=now)
            shared = _shared(request, visit, offers, shades, at=now)
    except planning.NothingToMix as refusal:
        offers = []
        messages.error(request, str(refusal))
    form: FormulaForm | None = None
    tried: Attempt[object] = Attempt()
    groups = [offer.key for offer in offers]
    if request.method == "POST":
        form = FormulaForm(request.POST, line=visit.line, shades=shades, groups=groups)
        tried = attempt(
            request,
            visit,
            form,
            lambda data, version: _decide(
                request, visit, data, offers=offers, shared=shared, version=version
            ),
        )
        if tried.saved:
            messages.success(request, _("Formula saved."))
            return go_on(request, visit)
    editing = form or _editor(request, visit, offers, shared, shades)
    others = _others(editing, offers) if editing else []
    context = {
        "offers": offers,
        "others": others,
        "shared": shared,
        "form": editing,
        "editing": editing["zones"].value() if editing else "",
        "source": request.POST.get("source") or request.GET.get("source", Source.OWN),
        "ratio": visit.line.developer_ratio,
        **(_prediction_context(visit, editing, shades, others) if editing else {}),
    }
    return page(request, visit, "formula", context, tried)


def _offers(
    request: SalonRequest, visit: Visit, shades: list[Shade], *, at: dt.datetime
) -> list[recipes.Offer]:
    facts = facts_for(request, visit)
    return recipes.offers(visit, shades, choice=facts.choice, readings=facts.readings, at=at)


def _shared(
    request: SalonRequest,
    visit: Visit,
    offers: list[recipes.Offer],
    shades: list[Shade],
    *,
    at: dt.datetime,
) -> list[SharedBowl]:
    """Return the common bowls of places that are not all served by one mix already."""
    if len(offers) < 2:
        return []
    return shared_bowls(
        visit,
        [offer.place for offer in offers],
        facts_for(request, visit).readings,
        {shade.pk: shade.name for shade in shades},
        selectors.facts_in_force(visit),
        at=at,
    )


def _decide(
    request: SalonRequest,
    visit: Visit,
    data: dict[str, Any],
    *,
    offers: list[recipes.Offer],
    shared: list[SharedBowl],
    version: int,
) -> None:
    offer = next((offer_row for offer_row in offers if offer_row.key == data["zones"]), None)
    common = next(
        (shared_bowl for shared_bowl in shared if shared_bowl.key == data["zones"]), None
    )
    posted = request.POST.get("source", "")
    source: str = Source.OWN
    reasons: list[Reason] = []
    if offer:
        source, reasons = recipes.source_of(offer, data["parts"], posted)
    elif common and common.parts == data["parts"]:
        source, reasons = Source.SUGGESTED, list(common.sentences)
    services.decide_formula(
        visit=visit,
        zones_key=data["zones"],
        parts=data["parts"],
        source=source,
        reasons=reasons,
        bowl_grams=data["bowl_grams"],
        minutes=data["minutes"],
        zone_minutes=data["zone_minutes"],
        developer_percent=data["developer_percent"],
        by=request.user,
        at=timezone.now(),
        expected_version=version,
    )


def _editor(
    request: SalonRequest,
    visit: Visit,
    offers: list[recipes.Offer],
    shared: list[SharedBowl],
    shades: list[Shade],
) -> FormulaForm | None:
    """Return the form of the group that is being changed or written, if any."""
    key = request.GET.get("zones", "")
    bowls = {bowl.key: bowl.bowl_grams for bowl in offers}
    bowls |= {shared_bowl.key: shared_bowl.bowl_grams for shared_bowl in shared}
    if key not in bowls:
        return None
    common = next((offer for offer in shared if offer.key == key), None)
    return FormulaForm(
        line=visit.line,
        shades=shades,
        groups=[offer_row.key for offer_row in offers],
        parts=parts_from_text(request.GET.get("parts", ""), shades),
        initial={
            "zones": key,
            "bowl_grams": bowls[key],
            "minutes": visit.line.processing_minutes,
            **({rinse_name(k): m for k, m in common.early.items()} if common else {}),
        },
    )


def _others(form: FormulaForm, offers: list[recipes.Offer]) -> list[str]:
    """Return the mixes that one's own can be compared with, as the form carries them."""
    key = form["zones"].value()
    offer = next((offer_row for offer_row in offers if offer_row.key == key), None)
    return [f"{code}={text}" for code, text in offer.comparable] if offer else []


@allow(BENCH)
@require_POST
@at_step(Step.FORMULA)
def prediction(request: SalonRequest, visit: Visit) -> HttpResponse:
    """Answer what the mix in the form would give: a fragment that follows each change."""
    shades = list(shades_in_stock(line=visit.line))
    groups = selectors.groups_toned(visit)
    form = FormulaForm(request.POST, line=visit.line, shades=shades, groups=groups)
    context = _prediction_context(visit, form, shades, request.POST.getlist("other"))
    status = 200 if "side" in context else 422
    return render(request, "consult/_prediction.html", context, status=status)


def _prediction_context(
    visit: Visit, form: FormulaForm, shades: list[Shade], others: Sequence[str] = ()
) -> dict[str, Any]:
    """Return the prediction of a form's mix, or why there is none."""
    mix = form.mix()
    if isinstance(mix, str):
        return {"refusal": mix}
    try:
        with reading_once():
            side = comparison.side(
                visit,
                mix.zones,
                mix.parts,
                places=comparison.places_of(visit),
                shades=shades,
                at=timezone.now(),
                bowl_grams=mix.bowl_grams,
                minutes=mix.minutes,
                zone_minutes=mix.zone_minutes,
                developer_percent=mix.developer_percent,
            )
    except (planning.NothingToMix, mixing.MixingRefused) as refusal:
        return {"refusal": str(refusal)}
    if not side.outcomes:
        return {"refusal": _("Enter parts for at least one shade.")}
    return {
        "side": side,
        "rivals": comparison.rivals(side, others, shades),
        "visit": visit,
    }


@allow(BENCH, shows=AccessKind.VISIT)
@require_GET
@at_step(Step.FORMULA)
def compare(request: SalonRequest, visit: Visit) -> HttpResponse:
    """Show two mixes for one place side by side."""
    now = timezone.now()
    shades = list(shades_in_stock(line=visit.line))
    key = request.GET.get("zones", "")
    texts = [text for text in request.GET.getlist("mix") if parts_from_text(text, shades)]
    texts = list(dict.fromkeys(texts))
    if len(texts) != 2:
        messages.info(request, _("Pick two different mixes to compare."))
        return lead(request, "consult:formula", visit.pk)
    try:
        with reading_once():
            offers = _offers(request, visit, shades, at=now)
            sides = comparison.sides(visit, key, texts, offers=offers, shades=shades, at=now)
    except (planning.NothingToMix, mixing.MixingRefused) as refusal:
        messages.error(request, str(refusal))
        return lead(request, "consult:formula", visit.pk)
    if not all(side.outcomes for side in sides):
        messages.info(request, _("The client has not signed for this part of the hair."))
        return lead(request, "consult:formula", visit.pk)
    context = {
        "sides": sides,
        "key": key,
        "steps": steps_of(facts_for(request, visit), "formula"),
    }
    return page(request, visit, "compare", context)
