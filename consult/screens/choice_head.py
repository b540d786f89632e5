"""What the choice page shows of the whole head: colours, words and one control."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from django.forms.utils import ErrorList

from consult import zones
from consult.agreement import whole_head
from consult.agreement.planning import Readings, field_name
from consult.agreement.whole_head import HeadPlan
from consult.agreement.wishes import Wish
from consult.forms import ChoiceForm
from consult.hair.zone_strands import zone_strands
from consult.models import Choice, ZoneReading
from formulas.drawing.plot import PlainCurve
from formulas.engine_inputs import ground_of
from formulas.head_suggestion import HeadPlace
from formulas.models import ProductLine


@dataclass(frozen=True)
class ChoiceGroup:
    """A group of zones on the choice page, with its own line."""

    key: str
    curve: PlainCurve
    reading: ZoneReading
    wish: Wish | None
    errors: ErrorList
    evaluated: int


@dataclass(frozen=True)
class ChoiceHead:
    """The whole head on the choice page, at the place that is shown first.

    `tied` says that one control moves all parts; `colours` and `start` are by zone, of dry
    hair; `spoken` is what a screen reader says first; `value`, `warmest` and `coolest` are
    warmths in percent as a slider takes them; `island` is for the script.
    """

    is_single: bool
    tied: bool
    place: HeadPlace
    parts: list[tuple[str, dict[str, object]]]
    start: dict[str, str]
    colours: dict[str, str]
    sentences: list[str]
    spoken: str
    value: str
    warmest: str
    coolest: str
    island: dict[str, object]


def choice_head(
    plan: HeadPlan,
    groups: Sequence[ChoiceGroup],
    form: ChoiceForm,
    current: Choice | None,
    readings: Readings,
    *,
    line: ProductLine,
    moved: Mapping[str, str],
    names_mixes: bool,
) -> ChoiceHead:
    """Return the head at the place that is shown first: typed, moved to, chosen, balanced.

    `moved` are fields that only moved so far: from the address, or kept in the client's hands.
    """
    island = whole_head.island(plan, names_mixes=names_mixes)
    is_single = len(plan.keys) == 1
    is_tied = is_single or _is_tied(form, current, moved)
    place = plan.nearest(_aim(plan, form, current, moved))
    now = _not_toned(plan, readings, line)
    sentences = whole_head.sentences(plan, place)
    start = _start(plan, now)
    return ChoiceHead(
        is_single=is_single,
        tied=is_tied,
        place=place,
        parts=[
            (key, {**mix, "warmth_words": whole_head.mix_warmth(plan, key, mix)})
            for key, mix in ((key, place.zones[key]) for key in plan.keys)
        ],
        start=start,
        colours=now | (whole_head.colours(place) if is_tied else _apart(groups)),
        sentences=sentences,
        spoken=" ".join(sentences) if is_tied else "",
        value=f"{place.warmth_left_percent:.1f}",
        warmest=f"{plan.places[0].warmth_left_percent:.1f}",
        coolest=f"{plan.places[-1].warmth_left_percent:.1f}",
        island={
            **island,
            "start": {"hex": start, "damp": _start(plan, now, damp=True)},
            "single": is_single,
        },
    )


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
    return float(plan.middle.warmth_left_percent)


def _is_tied(form: ChoiceForm, current: Choice | None, moved: Mapping[str, str]) -> bool:
    if form.is_bound:
        return bool(form.data.get("tied"))
    if "head" in moved:
        return "tied" in moved
    return current is None or all("head" in place.shown for place in current.places.all())


def _start(plan: HeadPlan, now: Mapping[str, str], *, damp: bool = False) -> dict[str, str]:
    own = {
        zone: part["damp_hex"] if damp else part["hex"]
        for key, part in plan.start.items()
        for zone in zones.Group(key).members
    }
    return {**now, **own}


def _not_toned(plan: HeadPlan, readings: Readings, line: ProductLine) -> dict[str, str]:
    """Return the colour of the zones that were read and stay as they are."""
    toned = {zone for key in plan.keys for zone in zones.Group(key).members}
    others = {zone: row for zone, row in readings.items() if zone not in toned}
    if not others:
        return {}
    drawn = zone_strands(ground_of(line), others)
    return {zone["zone"]: zone["hex"] for zone in drawn if zone["hex"]}


def _apart(groups: Sequence[ChoiceGroup]) -> dict[str, str]:
    """Return the colour of each part at its own place on its own line."""
    found: dict[str, str] = {}
    for group in groups:
        chosen = group.curve["chosen"] or 0.0
        mix = min(
            group.curve["mixes"], key=lambda mix: abs(mix["warmth_left_percent"] - chosen)
        )
        found |= dict.fromkeys(zones.Group(group.key).members, mix["hex"])
    return found
