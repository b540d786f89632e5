"""What runs of a client's results mean: marked, in a sentence, with the likely cause."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from consult import zones
from consult.history import control, looks
from consult.history.background import Background
from consult.history.causes import Cause, cause_of
from consult.history.error_words import count_words, in_words
from consult.history.looks import Look


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
                cause, because = cause_of(series, run, number, every, known)
                found.append(
                    Finding(
                        series.zones, number, run, part, abs(run.mean) / sigma,
                        run.last == len(errors) - 1, cause, because,
                    )
                )  # fmt: skip
    return sorted(found, key=lambda finding: (not finding.is_current, -finding.weight))
