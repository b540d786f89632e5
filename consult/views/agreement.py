"""The choice, and the signature under it."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import Any

from django.http import HttpResponse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from clients.models import AccessKind
from consult import selectors, services, zones
from consult.agreement import last_time, planning, wishes, wordings
from consult.agreement.planning import NothingToMix
from consult.forms import ChoiceForm, SignForm
from consult.models import Choice, Visit
from consult.screens.choice_depth import wish_of
from consult.screens.choice_head import ChoiceGroup, choice_head
from consult.views.doors import at_step, attempt, facts_for, go_on, lead, page
from consult.visit.path import Step
from formulas.head_suggestion import HeadPlace
from salon import languages
from salon.access import BENCH, SalonRequest, allow
from salon.attempts import Attempt
from salon.numbers import whole_number
from salon.submissions import once


@dataclass
class Shown:
    """What a page of the agreement shows, and what became of its form."""

    tried: Attempt[Any]
    context: dict[str, object] = field(default_factory=dict)


@allow(BENCH, shows=AccessKind.VISIT)
@once
@require_http_methods(["GET", "POST"])
@at_step(Step.CHOICE)
def choice(request: SalonRequest, visit: Visit) -> HttpResponse:
    """Show the trade-off of each group of zones; record where the client wants to be."""
    shown = choosing(request, visit)
    if shown.tried.saved:
        return go_on(request, visit)
    return page(request, visit, "choice", shown.context, shown.tried)


def choosing(
    request: SalonRequest, visit: Visit, kept: Mapping[str, str] | None = None
) -> Shown:
    """Take a posted place, or return what the choice shows.

    `kept` are fields of a choice not yet taken, in the client's hands.
    """
    now = timezone.now()
    readings = dict(facts_for(request, visit).readings)
    moved = {**(kept or {}), **request.GET.dict()}  # fields that only moved so far
    wish = wish_of(request.POST or moved, facts_for(request, visit).choice, readings)
    try:
        plans = planning.plans(visit, readings, at=now, wanted_level=wish.level)
        plan = planning.whole_head(visit, plans)
    except NothingToMix as refusal:
        return Shown(Attempt(), {"nothing": str(refusal), "groups": []})
    last = last_time.of(visit, plans, at=now)
    looks = [part["looks_level"] for part in plan.start.values()]
    form = ChoiceForm(
        request.POST or None, keys=list(plans), levels=wish.levels(looks), initial=wish.initial
    )
    tried = attempt(
        request,
        visit,
        form,
        lambda data, version: services.choose(
            visit=visit,
            picks=_same_again(last) if "again" in request.POST else _picks(form),
            head_aim=None if "again" in request.POST else form.head_aim,
            wanted_level=_wish_again(last) if "again" in request.POST else form.wish,
            by=request.user,
            at=now,
            expected_version=version,
        ),
    )
    if tried.saved:
        return Shown(tried)
    current = facts_for(request, visit).choice
    groups = [
        _group(
            plan,
            readings,
            form,
            current,
            _requested_aim(plan.key, moved),
            last=last,
        )
        for plan in plans.values()
    ]
    head = choice_head(
        plan,
        groups,
        form,
        current,
        readings,
        line=visit.line,
        moved=moved,
        names_mixes=kept is None,
    )
    if head.tied and not head.is_single:  # each chart starts from where the head is
        groups = [_at_place(group, head.place) for group in groups]
    context = {
        "form": form,
        "groups": groups,
        "head": head,
        "depth": wish,
        "signed": selectors.sign_off_of(current),
        "last_time": last,
    }
    return Shown(tried, context)


def _at_place(group: ChoiceGroup, place: HeadPlace) -> ChoiceGroup:
    """Return a group whose chart starts at its mix of the head's place."""
    warmth = place.zones[group.key]["warmth_left_percent"]
    return replace(group, curve={**group.curve, "chosen": warmth})


def _picks(form: ChoiceForm) -> list[services.Pick]:
    return [services.Pick(key, aim) for key, aim in form.aims.items()]


def _same_again(last: last_time.LastTime | None) -> list[services.Pick]:
    """Return last time's mixes as picks, or refuse where they do not fit today's zones."""
    if last is None or not last.is_complete:
        raise services.ChoiceIncomplete(
            _("Last time's mix does not suit today's hair."), code="last_mix_unsuitable"
        )
    return [
        services.Pick(part.zones, part.predicted["warmth_left_percent"]["value"], part.parts)
        for part in last.parts
    ]


def _wish_again(last: last_time.LastTime | None) -> Decimal | None:
    """Return last time's wish for depth: the same mixes again mean the same wish."""
    choice = last and selectors.choice_in_force(last.visit)
    return choice.wanted_level if choice else None


def _requested_aim(key: str, moved: Mapping[str, str]) -> str:
    return moved.get("aim") or moved.get(planning.field_name(key), "")


def _group(
    plan: planning.Plan,
    readings: planning.Readings,
    form: ChoiceForm,
    current: Choice | None,
    requested: str,
    *,
    last: last_time.LastTime | None,
) -> ChoiceGroup:
    """Return a group with its curve, its client's place and last time's marked."""
    name = planning.field_name(plan.key)
    aim = None
    if current:
        aim = next(
            (p.warmth_aim_percent for p in current.places.all() if p.zones == plan.key), None
        )
    wanted = whole_number(requested.removeprefix("-"), digits=3)
    if wanted is not None:
        aim = float(-wanted if requested.startswith("-") else wanted)
    if form.is_bound and form.is_valid():
        aim = form.aims.get(plan.key, aim)
    if aim is None:
        aim = plan.suggestion.places[1]["warmth_left_percent"]
    return ChoiceGroup(
        key=plan.key,
        curve={**plan.curve(chosen=aim), "last": last.mark(plan.key) if last else None},
        reading=readings[zones.Group(plan.key).first],
        wish=wishes.cool_and_light(plan) if plan.wanted_level is None else None,
        errors=form[name].errors,
        evaluated=plan.suggestion.evaluated,
    )


@allow(BENCH, shows=AccessKind.VISIT)
@once
@require_http_methods(["GET", "POST"])
@at_step(Step.SIGN)
def sign(request: SalonRequest, visit: Visit) -> HttpResponse:
    """Show what the choice means; take the signature."""
    current = facts_for(request, visit).choice
    if current is None:
        return lead(request, "consult:choice", visit.pk)
    shown = signing(request, visit, current, at=timezone.now())
    if shown.tried.saved:
        return go_on(request, visit)
    return page(request, visit, "sign", shown.context, shown.tried)


def signing(request: SalonRequest, visit: Visit, current: Choice, *, at: dt.datetime) -> Shown:
    """Take a posted signature, or return what is to be signed."""
    minor = services.needs_guardian(visit, at)
    initial = {
        "signed_name": "" if minor else visit.client.name,
        "choice": current.pk,
        "method": "drawn",
    }
    form = SignForm(request.POST or None, initial=initial, is_minor=minor)
    shown = selectors.choice_numbered(visit, form["choice"].value())
    tried = attempt(
        request,
        visit,
        form,
        lambda data, version: services.sign_off(
            visit=visit,
            choice=shown,
            method=data["method"],
            signed_name=data["signed_name"],
            drawn=data["signature_strokes"],
            is_turned=data["turned"] == "1",
            guardian_of=visit.client.name if minor else "",
            by=request.user,
            at=at,
            expected_version=version,
        ),
    )
    if tried.saved:
        return Shown(tried)
    with languages.speaking(current.language):
        understood = wordings.understandings(current.wording)
    context = {
        "form": form,
        "choice": current,
        "signed": selectors.sign_off_of(current),
        "earlier": [s for s in selectors.sign_offs(visit) if s.choice_id != current.pk],
        "understandings": understood,
        "is_minor": minor,
    }
    return Shown(tried, context)
