"""What the choice page shows of the whole head: colours, words and one control."""

from collections.abc import Mapping, Sequence
from typing import Any

from consult import zones
from consult.agreement import whole_head
from consult.agreement.planning import Readings, field_name
from consult.agreement.whole_head import HeadPlan
from consult.forms import ChoiceForm
from consult.hair import strands
from consult.models import Choice
from formulas.engine_inputs import ground_of
from formulas.models import ProductLine


def choice_head(
    plan: HeadPlan,
    groups: Sequence[Mapping[str, Any]],
    form: ChoiceForm,
    current: Choice | None,
    readings: Readings,
    *,
    line: ProductLine,
    moved: Mapping[str, str],
    names_mixes: bool,
) -> dict[str, Any]:
    """Return the head at the place that is shown first: typed, moved to, chosen, balanced.

    `moved` are fields that only moved so far: from the address, or kept in the client's hands.
    """
    island = whole_head.island(plan, names_mixes=names_mixes)
    is_single = len(plan.keys) == 1
    is_tied = is_single or _is_tied(form, current, moved)
    place = plan.nearest(_aim(plan, form, current, moved))
    now = _not_toned(plan, readings, line)
    spoken = whole_head.sentences(plan, place)
    start = {"hex": _start(plan, "hex", now), "damp": _start(plan, "damp_hex", now)}
    if not is_tied:
        spoken = []
    return {
        "is_single": is_single,
        "tied": is_tied,
        "place": place,
        "parts": [
            (key, {**mix, "warmth_words": whole_head.mix_warmth(plan, key, mix)})
            for key, mix in ((key, place["zones"][key]) for key in plan.keys)
        ],
        "start": start["hex"],
        "colours": now | (whole_head.colours(place) if is_tied else _apart(groups)),
        "sentences": spoken or whole_head.sentences(plan, place),
        "spoken": " ".join(spoken),
        "value": f"{place['warmth_left_percent']:.1f}",
        "warmest": f"{plan.places[0]['warmth_left_percent']:.1f}",
        "coolest": f"{plan.places[-1]['warmth_left_percent']:.1f}",
        "island": {**island, "start": start, "single": is_single},
    }


def _aim(
    plan: HeadPlan,
    form: ChoiceForm,
    current: Choice | None,
    moved: Mapping[str, str],
) -> float:
    names = ["head", *([field_name(plan.keys[0])] if len(plan.keys) == 1 else [])]
    typed = [form.data.get(name) for name in names] if form.is_bound else []
    for text in (*typed, *(moved.get(name) for name in ("aim", *names))):
        try:
            aim = float(str(text or "").replace(",", "."))
        except ValueError:
            continue
        if -200 <= aim <= 200:
            return aim
    places = list(current.places.all()) if current else []
    if places and "head" in places[0].shown:
        return float(places[0].shown["head"]["warmth_left_percent"])
    if len(places) == 1:
        return float(places[0].warmth_aim_percent)
    return float(plan.middle["warmth_left_percent"])


def _is_tied(form: ChoiceForm, current: Choice | None, moved: Mapping[str, str]) -> bool:
    if form.is_bound:
        return bool(form.data.get("tied"))
    if "head" in moved:
        return "tied" in moved
    return current is None or all("head" in place.shown for place in current.places.all())


def _start(plan: HeadPlan, name: str, now: Mapping[str, str]) -> dict[str, str]:
    own = {
        zone: str(plan.start[key][name])
        for key in plan.keys
        for zone in zones.Group(key).members
    }
    return {**now, **own}


def _not_toned(plan: HeadPlan, readings: Readings, line: ProductLine) -> dict[str, str]:
    """Return the colour of the zones that were read and stay as they are."""
    toned = {zone for key in plan.keys for zone in zones.Group(key).members}
    others = {zone: row for zone, row in readings.items() if zone not in toned}
    if not others:
        return {}
    drawn = strands.zone_strands(ground_of(line).chart, others)
    return {str(zone["zone"]): str(zone["hex"]) for zone in drawn if zone["hex"]}


def _apart(groups: Sequence[Mapping[str, Any]]) -> dict[str, str]:
    """Return the colour of each part at its own place on its own line."""
    found: dict[str, str] = {}
    for group in groups:
        curve = group["curve"]
        mix = min(
            curve["mixes"],
            key=lambda mix: abs(mix["warmth_left_percent"] - curve["chosen"]),
        )
        found |= dict.fromkeys(zones.Group(group["key"]).members, str(mix["hex"]))
    return found
