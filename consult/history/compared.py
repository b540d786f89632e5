"""What zones showed beside their predictions, as plain lists: read from records, or kept."""

from collections import defaultdict
from collections.abc import Sequence
from typing import Any

from django.db.models import F

from consult import zones
from consult.history import control
from consult.models import BowlMixed, MarkKind, ResultSeen

# One zone beside its prediction.
Plain = list[Any]

_COLUMNS = (
    "pk",
    "visit_id",
    "zones",
    "seen_by_id",
    "level",
    "warmth_left_percent",
    "predicted__level",
    "predicted__warmth_left_percent",
    "predicted__parts",
    "predicted__read_in",
)


def plain_by_visit(pks: Sequence[int]) -> dict[int, list[Plain]]:
    """Return what zones showed beside their predictions by visit; two queries.

    Result, zone, reader, level, warmth, then value, low and high of both predicted; shades;
    the steps in which depth and warmth were read.
    """
    if not pks:
        return {}
    rows = (
        ResultSeen.objects.filter(visit__in=pks, is_looked_at=True)
        .order_by("visit__opened_at", "pk")
        .values_list(*_COLUMNS)
    )
    mixes = _mixes_on(pks)
    found: dict[tuple[int, str], Plain] = {}
    for result, visit, seen_on, reader, *seen, level, warmth, parts, read_in in rows:
        if not level or not warmth:
            continue  # of an early release: what it was compared with was not kept
        steps = read_in or {}
        for zone in zones.Group(seen_on).members:
            if len(mixes[visit, zone]) > 1:
                continue
            found[visit, zone] = [
                result, zone, reader, *map(float, seen),
                _range(level), _range(warmth),
                sorted(str(name) for name, part in parts or () if part),
                float(steps.get("depth", control.DEPTH.step)),
                float(steps.get("warmth", control.WARMTH.step)),
            ]  # fmt: skip
    by_visit: dict[int, list[Plain]] = defaultdict(list)
    for (visit, _zone), plain in found.items():
        by_visit[visit].append(plain)
    return dict(by_visit)


def _range(plain: dict[str, float]) -> list[float]:
    return [float(plain[name]) for name in ("value", "low", "high")]


def _mixes_on(visits: Sequence[int]) -> dict[tuple[int, str], set[int]]:
    """Return the formulas whose bowls were on each zone: two cannot be compared with one."""
    found: dict[tuple[int, str], set[int]] = defaultdict(set)
    rows = BowlMixed.objects.filter(visit__in=visits, marks__kind=MarkKind.START).order_by()
    for visit, formula, served in rows.values_list(
        "visit_id", "formula_id", F("formula__zones")
    ):
        for zone in zones.Group(served).members:
            found[visit, zone].add(formula)
    return found
