"""What a run of a client's results most likely comes from, in a sentence."""

from collections.abc import Iterable, Sequence
from enum import StrEnum

from django.utils.formats import date_format
from django.utils.text import get_text_list
from django.utils.translation import gettext as _

from consult import zones
from consult.history import control
from consult.history.background import Background
from consult.history.error_words import count_words
from consult.history.looks import Look, Series
from consult.history.tendencies import WORTH, Tendency

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


def cause_of(
    series: Series, run: control.Run, number: str, every: Sequence[Series], known: Background
) -> tuple[Cause, str]:
    """Return the likeliest cause of a run that the records show, and why."""
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
    found = _of_the_visits(series, run, part, known)
    return found or (Cause.HAIR, _of_the_hair(part, run, number, known))


def _of_the_visits(
    series: Series, run: control.Run, part: Sequence[Look], known: Background
) -> tuple[Cause, str] | None:
    """Return a shade or a reader that came in with the run."""
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
    return None


def _of_the_hair(part: Sequence[Look], run: control.Run, number: str, known: Background) -> str:
    """Say that nothing else stands out, and what may hide in the results of others."""
    words = _(
        "Neither line nor stylist is off to the same side beyond chance: look at the hair "
        "first, at porosity, washes and what was used at home."
    )
    errors = [look.deeper if number == "depth" else look.warmer for look in part]
    mean, of = sum(errors) / len(errors), known.of(number)
    line, stylist = _most(look.line for look in part), _most(look.stylist for look in part)
    leaning = [
        f"\u2068{name}\u2069"
        for name, tendency in (
            (known.lines.get(line), of.lines.get(line)),
            (known.staff.get(stylist), of.stylists.get(stylist)),
        )
        if name and tendency and _may_explain(tendency, mean, number)
    ]
    if not leaning:
        return words
    also = _("It may also be %(names)s: on average, results there lean the same way.") % {
        "names": get_text_list(leaning)
    }
    return f"{words} {also}"


def _may_explain(tendency: Tendency, mean: float, number: str) -> bool:
    """Return whether results, of others too, lean to a run's side and maybe as far."""
    leans = abs(tendency.mean) >= WORTH[number] and (tendency.mean > 0) == (mean > 0)
    return leans and tendency.clients > 1 and tendency.low <= mean <= tendency.high


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
