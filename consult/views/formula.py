"""The formula: taken, changed or written, with the prediction following."""

from decimal import Decimal
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from consult import planning, recipes, selectors, services
from consult.forms import FormulaForm, parts_from_text
from consult.models import Source, Status, Visit
from consult.straying import strays
from consult.views.doors import Attempt, at_step, attempt, go_on, page
from formulas import mixing
from formulas.selectors import shades_in_stock
from formulas.suggestion import mix_in_words
from salon.access import BENCH, SalonRequest, allow
from salon.submissions import once


@allow(BENCH)
@once
@require_http_methods(["GET", "POST"])
@at_step(Status.FORMULA)
def formula(request: SalonRequest, visit: Visit) -> HttpResponse:
    """Offer ranked mixes for each signed place; take one, or open it to change it."""
    now = timezone.now()
    shades = list(shades_in_stock(line=visit.line))
    try:
        offers = recipes.offers(visit, shades, at=now)
    except planning.NothingToMix as refusal:
        offers = []
        messages.error(request, str(refusal))
    form, tried = None, Attempt()
    if request.method == "POST":
        form = FormulaForm(request.POST, shades=shades)
        tried = attempt(
            request,
            visit,
            form,
            lambda data, version: _decide(request, visit, offers, data, version),
        )
        if tried.saved:
            messages.success(request, _("The formula is decided."))
            return go_on(request, visit)
    editing = form or _editor(request, visit, offers, shades)
    context = {
        "offers": offers,
        "form": editing,
        "editing": editing["zones"].value() if editing else "",
        "source": request.POST.get("source") or request.GET.get("source", Source.OWN),
        "ratio": visit.line.developer_ratio,
        **(_foretold(visit, editing, shades) if editing and not form else {}),
    }
    return page(request, visit, "formula", context, tried)


def _decide(
    request: SalonRequest,
    visit: Visit,
    offers: list[recipes.Offer],
    data: dict[str, Any],
    version: int,
) -> None:
    offer = next((one for one in offers if one.key == data["zones"]), None)
    posted = request.POST.get("source", "")
    source, reasons = (
        recipes.source_of(offer, data["parts"], posted) if offer else (Source.OWN, [])
    )
    services.decide_formula(
        visit=visit,
        zones_key=data["zones"],
        parts=data["parts"],
        source=source,
        reasons=reasons,
        bowl_grams=data["bowl_grams"],
        minutes=data["minutes"],
        by=request.user,
        at=timezone.now(),
        expected_version=version,
    )


def _editor(
    request: SalonRequest, visit: Visit, offers: list[recipes.Offer], shades: list
) -> FormulaForm | None:
    """Return the form of the group that is being changed or written, if any."""
    key = request.GET.get("zones", "")
    offer = next((one for one in offers if one.key == key), None)
    if offer is None:
        return None
    return FormulaForm(
        shades=shades,
        parts=parts_from_text(request.GET.get("parts", ""), shades),
        initial={
            "zones": key,
            "bowl_grams": offer.bowl_grams,
            "minutes": visit.line.processing_minutes,
        },
    )


@allow(BENCH)
@require_POST
@at_step(Status.FORMULA)
def prediction(request: SalonRequest, visit: Visit) -> HttpResponse:
    """Answer what the mix in the form would give: a fragment that follows each change."""
    shades = list(shades_in_stock(line=visit.line))
    form = FormulaForm(request.POST, shades=shades)
    context = _foretold(visit, form, shades)
    status = 200 if "predicted" in context else 422
    return render(request, "consult/_prediction.html", context, status=status)


def _foretold(visit: Visit, form: FormulaForm, shades: list) -> dict[str, Any]:
    """Return the prediction of a form's mix, or why there is none."""
    parts: dict[int, Decimal]
    if form.is_bound:
        if not form.is_valid():
            told = [str(error) for errors in form.errors.values() for error in errors]
            return {"refusal": told[0] if told else ""}
        data = form.cleaned_data
        key, parts, bowl, minutes = (
            data["zones"], data["parts"], data["bowl_grams"], data["minutes"],
        )  # fmt: skip
    else:
        key, minutes = form.initial["zones"], form.initial["minutes"]
        bowl = form.initial["bowl_grams"]
        parts = {s.pk: Decimal(form.fields[f"parts-{s.pk}"].initial) for s in shades}
        parts = {pk: part for pk, part in parts.items() if part}
    choice = selectors.choice_in_force(visit)
    place = next((p for p in choice.places.all() if p.zones == key), None) if choice else None
    if place is None or not parts:
        return {"refusal": _("Give at least one shade a part.")}
    names = {shade.pk: shade.name for shade in shades}
    try:
        predicted = planning.predict(
            visit, selectors.readings_in_force(visit), key,
            parts=parts, minutes=minutes, at=timezone.now(),
        )  # fmt: skip
        weights = recipes.weigh(visit, parts, bowl, names)
    except (planning.NothingToMix, mixing.MixingRefused) as refusal:
        return {"refusal": str(refusal)}
    return {
        "predicted": predicted,
        "weights": weights,
        "place": place,
        "strays": strays(signed=place.predicted, mix=predicted),
        "words": mix_in_words([(names[pk], float(part)) for pk, part in parts.items()]),
        "visit": visit,
    }
