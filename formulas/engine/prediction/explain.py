"""Plain sentences about a mix on a zone, the most telling first."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from formulas.engine.hair.appearance import Judge
from formulas.engine.light.colorimetry import reflectance_to_lab
from formulas.engine.light.grid import Array
from formulas.engine.prediction.needed import pigment_carried
from formulas.engine.prediction.terms import Term, read, residual_term, terms
from formulas.engine.toner.deposit import Bed
from formulas.engine.toner.lines import Line
from formulas.engine.toner.shades import Shade
from formulas.engine.toner.zone import Zone

__all__ = ["Sentence", "Term", "pigment_carried", "residual_term", "sentences", "terms"]

# From where on a screen should say it (model assumptions; the numbers are beside them).
ASH_PERCENT = -10.0
MORE_WARMTH_PERCENT = 105.0
CAST = 5.0
BUILD_UP_LEVELS = 0.1
SHORT_TIME = 0.75
LONG_TIME = 1.25
POROUS = 0.5
WHITE_PERCENT = 25.0
TELLING_TAKE = 0.05  # in ln


@dataclass(frozen=True)
class Sentence:
    """A plain sentence for the screen; `code` and `values` let an app translate it."""

    code: str
    text: str
    values: Mapping[str, float | str] = field(default_factory=dict)


def sentences(
    zone: Zone,
    line: Line,
    bed: Bed,
    fractions: Array,
    judge: Judge,
    *,
    minutes: float | None = None,
    damp_levels: float,
) -> tuple[Sentence, ...]:
    """Return plain sentences about a mix on a zone, the most telling first.

    Parameters
    ----------
    zone : Zone
    line : Line
        With the bed's shades, in its order.
    bed : Bed
    fractions : (n,) float array
    judge : Judge
    minutes : float, optional
        Processing time. [min]
    damp_levels : float
        How much deeper the damp result reads. [levels]
    """
    lab = reflectance_to_lab(bed.mixed(fractions))
    return (
        *_about_pigment(zone, line, bed, fractions, judge),
        *_about_tint(lab, judge),
        *_about_hair(zone, bed, judge),
        *_about_time(line, minutes),
        *_about_damp(damp_levels),
    )


def _about_pigment(
    zone: Zone, line: Line, bed: Bed, fractions: Array, judge: Judge
) -> Iterator[Sentence]:
    used = [(line.shades[i], float(fractions[i])) for i in np.flatnonzero(fractions)]
    if all(shade.is_clear for shade, _ in used):
        yield Sentence("clear_only", "Clear alone adds shine and takes out no warmth.")
        return
    deposit = fractions @ bed.loads
    if not deposit.any():
        yield Sentence("no_deposit", "Nothing is taken up yet.")
        return
    warmth = float(read(judge, bed.reflectance(deposit))[0])
    carried = pigment_carried(bed, fractions, judge)
    if carried is not None and carried >= 1:
        text = "It carries the pigment that this warmth needs."
        yield Sentence("enough", text, {"share": carried})
    elif not (fractions @ bed.tone_loads).any() and carried is None:
        text = "A neutral alone deepens more than it cools; a tone opposite takes warmth out."
        yield Sentence("neutral_alone", text, {"warmth": warmth})
    elif carried is None:
        text = "This mix does not oppose the warmth, however much of it is laid on."
        yield Sentence("no_opposite", text)
    elif _mean_level(used) > zone.lifted_level:
        text = (
            f"Lighter than the lifted level: it carries {share_in_words(carried)} "
            "of the pigment needed."
        )
        yield Sentence("lighter_than_lifted", text, {"share": carried})
    else:
        share = share_in_words(carried)
        text = f"It carries {share} of the pigment needed to take the warmth out."
        yield Sentence("partly", text, {"share": carried})


def _mean_level(used: Sequence[tuple[Shade, float]]) -> float:
    """Return the mean level of the shades that have one, clear left out; 0 if none has."""
    known = [(shade.level, share) for shade, share in used if shade.level is not None]
    whole = sum(share for _, share in known)
    return sum(level * share for level, share in known) / whole if whole else 0.0


def _about_tint(lab: Array, judge: Judge) -> Iterator[Sentence]:
    warmth, cast = float(judge.warmth_left_percent(lab)), float(judge.cast(lab))
    if judge.has_little_warmth:
        text = "This hair shows little warmth to begin with: it starts below 100 %."
        yield Sentence("little_warmth", text)
    if warmth < ASH_PERCENT:
        text = "It goes past neutral: the result will look ash."
        yield Sentence("ash", text, {"warmth": warmth})
    elif warmth > MORE_WARMTH_PERCENT and abs(cast) <= CAST:
        yield Sentence("adds_warmth", "It adds warmth.", {"warmth": warmth})
    if cast > CAST:
        yield Sentence("green_cast", "It leans towards green.", {"cast": cast})
    elif cast < -CAST:
        yield Sentence("red_cast", "It leans towards red-violet.", {"cast": cast})


def _about_hair(zone: Zone, bed: Bed, judge: Judge) -> Iterator[Sentence]:
    before = residual_term(bed, judge)
    if before is not None and before.levels_deeper > BUILD_UP_LEVELS:
        text = "Toner from the last visit is still there; this one builds up on it."
        yield Sentence("build_up", text, {"deeper": before.levels_deeper})
    if zone.porosity >= POROUS:
        text = "Porous hair takes toner faster and deeper, and loses it sooner."
        yield Sentence("porous", text)
    elif zone.porosity <= -POROUS:
        yield Sentence("resistant", "Hair of low porosity takes less in the same time.")
    yield from about_take(zone.take)
    if zone.white_percent >= WHITE_PERCENT:
        text = f"{zone.white_percent:.0f} % white: white fibres show the tone clearest."
        yield Sentence("white", text, {"percent": zone.white_percent})


def about_take(take: float) -> Iterator[Sentence]:
    """Return the sentence on hair that takes more or less than usual, if it is worth one."""
    if abs(np.log(take)) >= TELLING_TAKE:
        percent = 100.0 * abs(take - 1.0)
        code, word = ("takes_more", "more") if take > 1 else ("takes_less", "less")
        text = f"This hair took about {percent:.0f} % {word} than usual."
        yield Sentence(code, text, {"percent": percent})


def _about_time(line: Line, minutes: float | None) -> Iterator[Sentence]:
    own = line.processing_minutes
    if minutes is not None and minutes < SHORT_TIME * own:
        text = f"Rinsed before the line's {own:g} minutes it takes less."
        yield Sentence("short_time", text, {"minutes": own})
    elif minutes is not None and minutes > LONG_TIME * own:
        text = f"Past the line's {own:g} minutes hardly more is taken up."
        yield Sentence("long_time", text, {"minutes": own})


def _about_damp(damp_levels: float) -> Iterator[Sentence]:
    text = f"Damp it reads about {damp_levels:.1f} levels deeper than dry."
    yield Sentence("damp", text, {"levels": damp_levels})


def share_in_words(share: float) -> str:
    """Return a share below one as people say it: "about a third"."""
    words = [
        (0.07, "less than a tenth"),
        (0.15, "about a tenth"),
        (0.29, "about a quarter"),
        (0.42, "about a third"),
        (0.58, "about half"),
        (0.8, "about two thirds"),
    ]
    return next((text for limit, text in words if share < limit), "nearly all")
