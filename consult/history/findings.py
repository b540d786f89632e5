"""What runs of a client's results mean: marked, in a sentence, with the likely cause."""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property

from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from consult import zones
from consult.agreement.statement import one_decimal, whole
from consult.history import control, looks
from consult.history.looks import Look, Scatter, Series
from consult.history.names import lines_and_team
from consult.history.tendencies import Row, Tendencies, tendencies
from salon.models import Salon

# What a salon's tendencies and scatter are read from.
DAYS, MOST_VISITS = 365, 600
# Before a shade or a reader is named, so many results without them were in order.
FEWEST_WITHOUT = 2


class Cause(StrEnum):
    """What a run most likely comes from."""

    BUILD_UP = "build_up"
    LINE = "line"
    STYLIST = "stylist"
    SHADE = "shade"
    READER = "reader"
    HAIR = "hair"


@dataclass(frozen=True)
class Background:
    """What a salon's results say as a whole: scatter, tendencies, names for the sentences."""

    scatter: Scatter
    depth: Tendencies
    warmth: Tendencies
    lines: dict[int, str]
    staff: dict[int, str]

    def of(self, number: str) -> Tendencies:
        """Return the tendencies of depth or of warmth."""
        return self.depth if number == "depth" else self.warmth


@dataclass(frozen=True)
class Finding:
    """A run of one client's results that chance does not explain."""

    zones: str
    number: str
    run: control.Run
    looks: tuple[Look, ...]
    weight: float
    is_current: bool
    cause: Cause
    because: str

    @property
    def title(self) -> str:
        """Say what the run does: "Ends: deeper each time, 6 visits in a row"."""
        return _("%(zones)s: %(what)s") % {"zones": zones.title(self.zones), "what": self._what}

    @cached_property
    def _what(self) -> str:
        n = self.run.count
        words = {
            ("depth", control.Kind.TREND, True): ngettext(
                "getting deeper over %(n)s visit", "getting deeper over %(n)s visits", n
            ),
            ("depth", control.Kind.TREND, False): ngettext(
                "getting lighter over %(n)s visit", "getting lighter over %(n)s visits", n
            ),
            ("warmth", control.Kind.TREND, True): ngettext(
                "getting warmer over %(n)s visit", "getting warmer over %(n)s visits", n
            ),
            ("warmth", control.Kind.TREND, False): ngettext(
                "getting cooler over %(n)s visit", "getting cooler over %(n)s visits", n
            ),
            ("depth", control.Kind.ONE_SIDED, True): ngettext(
                "deeper than predicted, %(n)s visit in a row",
                "deeper than predicted, %(n)s visits in a row", n,
            ),
            ("depth", control.Kind.ONE_SIDED, False): ngettext(
                "lighter than predicted, %(n)s visit in a row",
                "lighter than predicted, %(n)s visits in a row", n,
            ),
            ("warmth", control.Kind.ONE_SIDED, True): ngettext(
                "warmer than predicted, %(n)s visit in a row",
                "warmer than predicted, %(n)s visits in a row", n,
            ),
            ("warmth", control.Kind.ONE_SIDED, False): ngettext(
                "cooler than predicted, %(n)s visit in a row",
                "cooler than predicted, %(n)s visits in a row", n,
            ),
        }  # fmt: skip
        return words[self.number, self.run.kind, self.run.is_up] % {"n": n}

    @property
    def amount(self) -> str:
        """Say how far off the run is, from its first to its last result."""
        first, last = self._errors[0], self._errors[-1]
        ends = [in_words(error, self.number) for error in (first, last)]
        values = {
            "first": ends[0],
            "last": ends[1],
            "mean": in_words(sum(self._errors) / len(self._errors), self.number),
            "n": count_words(len(self._errors)),
        }
        if ends[0] == ends[1]:
            return _("First and last %(first)s, on average %(mean)s (%(n)s).") % values
        return _("From %(first)s to %(last)s, on average %(mean)s (%(n)s).") % values

    @property
    def _errors(self) -> list[float]:
        return [look.deeper if self.number == "depth" else look.warmer for look in self.looks]


def count_words(n: int) -> str:
    """Return how many results a mean is of, as papers write it; it breaks over no line."""
    return f"n\u00a0=\u00a0{n}"


def in_words(error: float, number: str) -> str:
    """Say an error: "0.4 levels deeper", "8 points cooler", "as predicted"."""
    if number == "depth":
        if abs(error) < 0.05:
            return _("as dark as predicted")
        text = _("%(n)s levels deeper") if error > 0 else _("%(n)s levels lighter")
        return text % {"n": one_decimal(abs(error))}
    if abs(error) < 0.5:
        return _("as warm as predicted")
    text = _("%(n)s points warmer") if error > 0 else _("%(n)s points cooler")
    return text % {"n": whole(abs(error))}


def background(*, salon: Salon, at: dt.datetime) -> Background:
    """Return what a salon's results of the last year say; four queries."""
    since = at - dt.timedelta(days=DAYS)
    rows = looks.of_salon(salon=salon, since=since, most=MOST_VISITS)
    return background_of(rows, salon=salon)


def background_of(rows: Sequence[Look], *, salon: Salon) -> Background:
    """Return what these results say; two queries, for the names."""
    scatter = looks.scatter_of(rows)
    return Background(
        scatter,
        tendencies(_rows(rows, "deeper"), number="depth", sigma=scatter.depth_read),
        tendencies(_rows(rows, "warmer"), number="warmth", sigma=scatter.warmth_read),
        *lines_and_team(salon),
    )


def _rows(rows: Iterable[Look], error: str) -> list[Row]:
    return [
        Row(getattr(look, error), look.person, look.line, look.stylist)
        for look in looks.once_each(rows)
    ]


def of_person(
    rows: Sequence[Look], known: Background, *, only_current: bool = False
) -> list[Finding]:
    """Return every run of one person, those that go on first, the clearest first."""
    every = looks.series_of(rows)
    found: list[Finding] = []
    for series in every:
        for number, errors, sigma in (
            ("depth", series.depth_errors, known.scatter.depth),
            ("warmth", series.warmth_errors, known.scatter.warmth),
        ):
            if only_current:
                last = control.current_run(errors, sigma=sigma)
                runs = [] if last is None else [last]
            else:
                runs = control.all_runs(errors, sigma=sigma)
            for run in runs:
                part = series.looks[run.first : run.last + 1]
                cause, because = _cause(series, run, number, every, known)
                found.append(
                    Finding(
                        series.zones, number, run, part, abs(run.mean) / sigma,
                        run.last == len(errors) - 1, cause, because,
                    )
                )  # fmt: skip
    return sorted(found, key=lambda finding: (not finding.is_current, -finding.weight))


def _cause(
    series: Series, run: control.Run, number: str, every: Sequence[Series], known: Background
) -> tuple[Cause, str]:
    """Return the likeliest cause that the records show, and why."""
    part = series.looks[run.first : run.last + 1]
    if _builds_up(series, run, number, every, known):
        return Cause.BUILD_UP, _(
            "Likely build-up on the %(zones)s: the roots of the same visits do not show it. "
            "Toner of earlier visits is left there, and the same mix goes on top of it."
        ) % {"zones": zones.words(series.zones)}
    line = known.of(number).lines.get(_most(look.line for look in part))
    if line and line.is_off and (line.mean > 0) == run.is_up:
        return Cause.LINE, _(
            "Likely the line: %(clients)s clients of %(line)s are off to the same side (%(n)s)."
        ) % {
            "clients": line.clients,
            "line": known.lines.get(part[-1].line, ""),
            "n": count_words(line.results),
        }
    stylist = known.of(number).stylists.get(_most(look.stylist for look in part))
    if stylist and stylist.is_off and (stylist.mean > 0) == run.is_up:
        return Cause.STYLIST, _(
            "Likely how it is read, mixed or timed: %(clients)s clients of %(name)s are off to "
            "the same side (%(n)s)."
        ) % {
            "clients": stylist.clients,
            "name": known.staff.get(part[-1].stylist, ""),
            "n": count_words(stylist.results),
        }
    return _of_the_visits(series, run, part, known)


def _of_the_visits(
    series: Series, run: control.Run, part: Sequence[Look], known: Background
) -> tuple[Cause, str]:
    """Return a shade or a reader that came in with the run, else the hair itself."""
    before = series.looks[: run.first]
    if len(before) >= FEWEST_WITHOUT:
        new = set.intersection(*[set(look.shades) for look in part])
        new -= {shade for look in before for shade in look.shades}
        if new:
            return Cause.SHADE, _(
                "Likely the shade %(shade)s: it has been in the mix since %(date)s, "
                "when this began."
            ) % {
                "shade": ", ".join(sorted(new)),
                "date": date_format(part[0].at.date(), "SHORT_DATE_FORMAT"),
            }
        readers = {look.reader for look in part}
        if len(readers) == 1 and readers.isdisjoint(look.reader for look in before):
            return Cause.READER, _(
                "Likely the reader: %(name)s looked at all of these, others at those before."
            ) % {"name": known.staff.get(readers.pop(), "")}
    return Cause.HAIR, _(
        "The line, the shades, the stylist and the person who read it do not explain this: "
        "it is probably the hair. "
        "Look at porosity, washes and what was used at home before the next mix."
    )


def _builds_up(
    series: Series, run: control.Run, number: str, every: Sequence[Series], known: Background
) -> bool:
    """Return whether hair that keeps toner goes deeper or cooler, and its roots do not."""
    members = zones.Group(series.zones).members
    if zones.Zone.ROOTS in members or (number == "depth") != run.is_up:
        return False
    roots = next((s for s in every if zones.Zone.ROOTS in zones.Group(s.zones).members), None)
    if roots is None:
        return False
    visits = {look.visit for look in series.looks[run.first : run.last + 1]}
    beside = [look for look in roots.looks if look.visit in visits]
    errors = [x.depth_error if number == "depth" else x.warmth_error for x in beside]
    sigma = known.scatter.depth if number == "depth" else known.scatter.warmth
    if len(errors) < control.SHORTEST_RUN:
        return False
    run_of_roots = control.run_at_end(errors, sigma=sigma)
    return run_of_roots is None or run_of_roots.is_up != run.is_up


def _most(values: Iterable[int]) -> int:
    """Return the value that occurs most, the first of those as frequent."""
    every = list(values)
    return max(dict.fromkeys(every), key=every.count)
