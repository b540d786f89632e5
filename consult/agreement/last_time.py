"""The last visit beside today: what was mixed, what came out, what differs in the hair now."""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _

from consult import selectors, zones
from consult.agreement import planning
from consult.agreement.statement import one_decimal, whole
from consult.hair import residue
from consult.history import histories
from consult.models import HairFacts, Visit, ZoneReading
from formulas import warmth_words
from formulas.drawing.plot import LastMark
from formulas.engine_results import mix_in_words
from formulas.selectors import shades_in_stock
from formulas.snapshots import Prediction

Parts = tuple[tuple[str, float], ...]


@dataclass(frozen=True)
class Again:
    """Last time's mix on a part of today's hair, or the nearest that today's shelf gives.

    `missing` names the shades that cannot be poured any more.
    """

    zones: str
    group: histories.GroupRecord
    mix: str
    parts: Parts
    missing: Sequence[str]
    nearest_mix: str
    predicted: Prediction

    @property
    def difference(self) -> str:
        """How what came out differs from what was promised, or an empty string."""
        result = self.group.result
        if result is None or result.warmth_left_percent is None:
            return ""
        promised = self.group.promised["warmth_left_percent"]["value"]
        points = round(result.warmth_left_percent - promised)
        if warmth_words.start_of(self.group.predicted)["little"]:  # points of very little
            return _as_promised(points)
        if points > 0:
            return _("%(n)s points warmer than promised") % {"n": whole(points)}
        if points < 0:
            return _("%(n)s points cooler than promised") % {"n": whole(-points)}
        return _("as warm as promised")


def _as_promised(points: int) -> str:
    if abs(points) <= warmth_words.SAME_PERCENT:
        return _("as warm as promised")
    return _("warmer than promised") if points > 0 else _("cooler than promised")


@dataclass(frozen=True)
class LastTime:
    """The last visit, part by part, and what differs today."""

    visit: Visit
    parts: Sequence[Again]
    differences: Sequence[str]

    def mark(self, key: str) -> LastMark | None:
        """Return where last time's place of a part is on the curve, and where it came out."""
        again = next((part for part in self.parts if part.zones == key), None)
        if again is None:
            return None
        promised, result = again.group.promised, again.group.result
        deeper = promised["levels_deeper_looks"]["value"]
        mark: LastMark = {
            "warmth": promised["warmth_left_percent"]["value"],
            "deeper": deeper,
        }
        if result and result.warmth_left_percent is not None and result.level is not None:
            mark["seen_warmth"] = float(result.warmth_left_percent)
            mark["seen_deeper"] = deeper + promised["level"]["value"] - float(result.level)
        return mark

    @property
    def is_complete(self) -> bool:
        """Whether every part to tone has a mix to repeat."""
        return bool(self.parts)


def of(visit: Visit, plans: Mapping[str, planning.Plan], *, at: dt.datetime) -> LastTime | None:
    """Return the last visit with this line beside today's plans, or None."""
    last = residue.last_toned(visit)
    if last is None or last.line_id != visit.line_id:
        return None
    record = histories.record_of(last)
    shelf: dict[str, Decimal] = {
        shade.name: shade.grams  # type: ignore[attr-defined]
        for shade in shades_in_stock(line=visit.line)
    }
    parts = [_again(visit, record, plan, shelf) for plan in plans.values()]
    found = [part for part in parts if part is not None]
    differs = differences(
        selectors.readings_in_force(last),
        selectors.readings_in_force(visit),
        selectors.facts_in_force(last),
        selectors.facts_in_force(visit),
    )
    differs += [
        _("%(kind)s today: %(result)s")
        % {
            "kind": str(test.get_kind_display()).capitalize(),
            "result": test.get_result_display(),
        }
        for test in selectors.pre_tests_of(visit)
    ]
    return LastTime(last, found if len(found) == len(plans) else [], differs)


def differences(
    before: Mapping[str, ZoneReading],
    now: Mapping[str, ZoneReading],
    facts_before: HairFacts | None,
    facts_now: HairFacts | None,
) -> list[str]:
    """Return what reads otherwise today, zone by zone and over the whole head, in words."""
    found = []
    for zone, row in now.items():
        old = before.get(zone)
        if old is None:
            continue
        changes = [
            f"{label} {was} → {is_now}"
            for label, was, is_now in _pairs(old, row)
            if was != is_now
        ]
        if changes:
            found.append(f"{zones.title(zone)}: {', '.join(changes)}")
    for name, label in (("length", _("Length")), ("density", _("Density"))):
        was = getattr(facts_before, f"get_{name}_display", str)()
        is_now = getattr(facts_now, f"get_{name}_display", str)()
        if was and is_now and was != is_now:
            found.append(f"{label}: {was} → {is_now}")
    return found


def _pairs(old: ZoneReading, new: ZoneReading) -> list[tuple[str, str, str]]:
    def both(name: str, label: str, show: Any) -> tuple[str, str, str]:
        return label, show(getattr(old, name)), show(getattr(new, name))

    return [
        both("white_percent", _("white"), lambda value: f"{whole(value)} %"),
        both("lifted_level", _("lifted to"), lambda value: one_decimal(float(value))),
        both("natural_level", _("natural level"), lambda value: one_decimal(float(value))),
        both("undertone", _("undertone"), lambda value: one_decimal(float(value))),
        both("porosity", _("porosity"), lambda value: one_decimal(float(value))),
    ]


def _again(
    visit: Visit,
    record: histories.VisitRecord,
    plan: planning.Plan,
    shelf: Mapping[str, Decimal],
) -> Again | None:
    """Return last time's mix for a part of the hair; that of its outermost zone."""
    zone = zones.Group(plan.key).last
    group = next(
        (g for g in record.groups if zone in zones.Group(g.zones).members and g.bowl), None
    )
    if group is None or group.bowl is None or group.formula is None:
        return None
    parts: Parts = tuple(
        (line.shade.name, float(line.parts)) for line in group.formula.lines.all()
    )
    grams = {line.shade.name: line.grams for line in group.formula.lines.all()}
    missing = [name for name, _part in parts if name not in shelf or shelf[name] < grams[name]]
    words, nearest = mix_in_words(list(parts)), ""
    if missing:
        mix = plan.nearest(group.promised["warmth_left_percent"]["value"])
        parts = tuple((str(name), float(part)) for name, part in mix["parts"])
        nearest = mix_in_words(list(parts))
    try:
        predicted = planning.predict_by_name(
            visit, plan.zone, dict(parts), minutes=visit.line.processing_minutes
        )
    except planning.NothingToMix:
        return None
    return Again(plan.key, group, words, parts, missing, nearest, predicted)
