"""A client's tones as a picture through time, with every visit's numbers in words beside it."""

import datetime as dt
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import median

from django.db.models import Prefetch, prefetch_related_objects
from django.utils.formats import date_format
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from consult import zones
from consult.agreement.statement import one_decimal
from consult.bench.starting_values import USUAL_WASHES, weeks_kept
from consult.drawing.through_time import through_time_svg
from consult.drawing.time_line import Line, Mark, Moment, Picture
from consult.history import control
from consult.history.error_words import in_words
from consult.history.fading import day_of, faded_words, fading_of, porosity_of
from consult.history.findings import Finding
from consult.history.visit_record import GroupRecord, VisitRecord
from consult.models import HairFacts, ZoneReading
from formulas import warmth_words
from formulas.drawing import strands
from formulas.engine_inputs import ground_of
from formulas.washes import washes_to_fade


@dataclass(frozen=True)
class Row:
    """One visit of a part of the hair, in words and numbers."""

    record: VisitRecord
    group: GroupRecord
    weeks: float | None
    faded: str

    @property
    def depth_off(self) -> str:
        """How deep it came out beside what was predicted, in words."""
        deeper = self.group.deeper
        return "" if deeper is None else in_words(deeper, "depth")

    @property
    def warmth_off(self) -> str:
        """How warm it came out beside what was predicted, in words."""
        drift = self.group.warmth_drift
        return "" if drift is None else in_words(drift, "warmth")


@dataclass(frozen=True)
class Part:
    """One part of the hair that was always treated alike: picture, table, runs."""

    zones: str
    rows: Sequence[Row]
    picture: SafeString | str
    findings: Sequence[Finding]
    weeks: int | None

    @property
    def current(self) -> list[Finding]:
        """The runs that go on."""
        return [finding for finding in self.findings if finding.is_current]

    @property
    def seen(self) -> int:
        """How many results can be compared."""
        return sum(row.group.is_comparable for row in self.rows)


@dataclass(frozen=True)
class Due:
    """When to tone again, and who says so."""

    date: dt.date
    why: str


def parts_of(
    latest: Sequence[VisitRecord],
    found: Sequence[Finding],
    *,
    at: dt.datetime,
    on_paper: bool = False,
) -> list[Part]:
    """Return the parts of the hair with their pictures; records come latest first."""
    records = list(reversed(latest))
    if not records:
        return []
    prefetch_related_objects(
        [record.visit for record in records],
        Prefetch("zone_readings", ZoneReading.objects.order_by("pk")),
        Prefetch("hair_facts", HairFacts.objects.order_by("pk")),
    )
    due = due_of(latest, at=at)
    return [
        _part(key, rows, found, due, at=at, on_paper=on_paper)
        for key, rows in _by_part(records).items()
    ]


def due_of(latest: Sequence[VisitRecord], *, at: dt.datetime) -> Due | None:
    """Return when the next tone is due: as agreed, by own rhythm, or when toner is spent."""
    if not latest:
        return None
    visit = latest[0].visit
    last = day_of(latest[0])
    if visit.next_visit_date:
        return Due(visit.next_visit_date, _("as agreed at the last visit"))
    gaps = [(day_of(a) - day_of(b)).days / 7 for a, b in pairwise(latest[:6])]
    if len(gaps) >= 2:
        weeks = weeks_kept(median(gaps))
        return Due(last + dt.timedelta(weeks=weeks), _("this client’s usual interval"))
    washes = washes_to_fade(line=visit.line, porosity=porosity_of(latest[0]))
    weeks = weeks_kept(washes / USUAL_WASHES)
    why = _("when a quarter of the toner is left, at two washes a week")
    return Due(last + dt.timedelta(weeks=weeks), why)


def _by_part(
    records: Sequence[VisitRecord],
) -> dict[str, list[tuple[VisitRecord, GroupRecord]]]:
    """Return the toned zones by what happened to them, visit by visit; roots first."""
    of_zone: dict[str, list[tuple[VisitRecord, GroupRecord]]] = defaultdict(list)
    for record in records:
        for group in record.groups:
            if group.bowls:
                for zone in zones.Group(group.zones).members:
                    of_zone[zone].append((record, group))
    alike: dict[tuple[object, ...], list[str]] = defaultdict(list)
    for zone in zones.IN_ORDER:
        if of_zone[zone]:
            alike[tuple((r.visit.pk, g.zones) for r, g in of_zone[zone])].append(zone)
    return {zones.Group.of(members): of_zone[members[0]] for members in alike.values()}


def _part(
    key: str,
    rows: Sequence[tuple[VisitRecord, GroupRecord]],
    found: Sequence[Finding],
    due: Due | None,
    *,
    at: dt.datetime,
    on_paper: bool,
) -> Part:
    own = [
        f for f in found if set(zones.Group(f.zones).members) & set(zones.Group(key).members)
    ]
    place = {record.visit.pk: n for n, (record, _group) in enumerate(rows)}
    moments, table = [], []
    today = at.astimezone(rows[0][0].visit.salon.zone).date()
    for n, (record, group) in enumerate(rows):
        following = rows[n + 1][0] if n + 1 < len(rows) else None
        fading = fading_of(record, group, following, today=today)
        moments.append(_moment(record, group, fading, place))
        weeks = (day_of(record) - day_of(rows[n - 1][0])).days / 7 if n else None
        table.append(Row(record, group, weeks, faded_words(fading, group.predicted)))
    gaps = [row.weeks for row in table if row.weeks is not None]
    lines = [(finding, _line(finding, rows, place)) for finding in own]
    little = any(warmth_words.start_of(group.predicted)["little"] for _record, group in rows)
    picture = Picture(
        shows_percent=not little,
        key=key.replace(",", "-"),
        title=_("%(zones)s: depth and warmth at %(n)s visits") % {
            "zones": zones.title(key), "n": len(rows),
        },
        moments=moments,
        due=due.date if due else None,
        depth_runs=[line for f, line in lines if line and f.number == "depth"],
        warmth_runs=[line for f, line in lines if line and f.number == "warmth"],
        until=min(today, day_of(rows[-1][0]) + dt.timedelta(weeks=20)),
    )  # fmt: skip
    return Part(
        key,
        table[::-1],
        through_time_svg(picture, on_paper=on_paper),
        own,
        round(median(gaps)) if gaps else None,
    )


def _moment(
    record: VisitRecord,
    group: GroupRecord,
    fading: Sequence[tuple[float, float, float]],
    place: dict[int, int],
) -> Moment:
    promised, compared, result = group.promised, group.predicted, group.result
    seen = result if result and result.level is not None else None
    level, warmth = promised["level"], promised["warmth_left_percent"]
    own_level, own_warmth = compared["level"], compared["warmth_left_percent"]
    return Moment(
        day=day_of(record),
        href=f"#visit-{record.visit.pk}",
        title=_title(record, group),
        start_hex=str(promised.get("start_hex", "")),
        promised_hex=str(promised.get("dry_hex", "")),
        seen_hex=_seen_hex(record, group),
        depth=Mark(
            level["value"], own_level["low"], own_level["high"],
            float(seen.level) if seen and seen.level is not None else None,
            group.is_level_within, [(days, depth) for days, depth, _warm in fading],
        ),
        warmth=Mark(
            warmth["value"], own_warmth["low"], own_warmth["high"],
            float(seen.warmth_left_percent)
            if seen and seen.warmth_left_percent is not None
            else None,
            group.is_warmth_within, [(days, warm) for days, _depth, warm in fading],
        ),
        corrects=place.get(record.visit.corrects_id) if record.visit.corrects_id else None,
    )  # fmt: skip


def _title(record: VisitRecord, group: GroupRecord) -> str:
    """Say one visit: date, who, promised and seen."""
    promised = group.promised
    words = _("%(date)s, %(who)s. Promised: as dark as level %(level)s, %(warmth)s.") % {
        "date": date_format(day_of(record), "DATE_FORMAT"),
        "who": record.visit.stylist.display_name,
        "level": one_decimal(promised["level"]["value"]),
        "warmth": warmth_words.in_full_of(promised),
    }
    seen = group.result
    if seen is None or seen.level is None or seen.warmth_left_percent is None:
        return f"{words} {_('No result.')}"
    return words + " " + _("Result: as dark as level %(level)s, %(warmth)s.") % {
        "level": one_decimal(float(seen.level)),
        "warmth": warmth_words.in_full_of(group.predicted, float(seen.warmth_left_percent)),
    }  # fmt: skip


def _seen_hex(record: VisitRecord, group: GroupRecord) -> str:
    """Return the colour that was seen: kept with the result, else drawn from its numbers."""
    if group.result is None or group.result.level is None:
        return ""
    kept = (group.result.predicted or {}).get("seen_hex")
    if kept:
        return str(kept)
    if group.level_drift is None or group.warmth_drift is None:
        return ""
    return strands.seen_hex(
        ground_of(record.visit.line).chart,
        group.predicted,
        deeper=-group.level_drift,
        warmer=group.warmth_drift,
    )


def _line(
    finding: Finding,
    rows: Sequence[tuple[VisitRecord, GroupRecord]],
    place: dict[int, int],
) -> Line | None:
    """Return the straight line through what was seen in a run, where all of it is shown."""
    known = [look for look in finding.looks if look.visit in place]
    if len(known) < control.SHORTEST_RUN:
        return None
    values = [look.level if finding.number == "depth" else look.warmth for look in known]
    rise, middle = control.slope(values), sum(values) / len(values)
    half = rise * (len(values) - 1) / 2
    return Line(place[known[0].visit], place[known[-1].visit], middle - half, middle + half)
