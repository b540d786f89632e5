"""Offered mixes as a screen or a command shows them: every number with its range."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from formulas.engine.light.colorimetry import lab_to_hex
from formulas.engine.prediction.doubts import Doubts
from formulas.engine.prediction.explain import Sentence
from formulas.engine.prediction.numbers import numbers, used_shades
from formulas.engine.prediction.ranged import Ranged
from formulas.engine.search.offer import Offer
from formulas.engine.search.picking import Offered


@dataclass(frozen=True)
class Shown:
    """An offered mix with its ranges.

    Attributes
    ----------
    key : str
        See `Offered`.
    parts : mapping of shade name to whole parts
    warmth_left_percent, levels_deeper_looks, levels_deeper_measured : Ranged
        See `Prediction`.
    cast : float
    dry_hex, damp_hex : str
        Screen colours.
    practice_costs_levels : float
        How much deeper it looks than the lightest of all mixes as cool. [levels]
    why : Sentence
    """

    key: str
    parts: Mapping[str, int]
    warmth_left_percent: Ranged[float]
    levels_deeper_looks: Ranged[float]
    levels_deeper_measured: Ranged[float]
    cast: float
    dry_hex: str
    damp_hex: str
    practice_costs_levels: float
    why: Sentence

    def as_data(self) -> dict[str, object]:
        """Return what `suggest --json` prints of it, at a ten-thousandth: finer is noise."""
        return {
            "key": self.key,
            "parts": dict(self.parts),
            "warmth_left_percent": _plain(self.warmth_left_percent),
            "levels_deeper_looks": _plain(self.levels_deeper_looks),
            "practice_costs_levels": round(self.practice_costs_levels, 4) + 0.0,
            "why": self.why.text,
        }


def shown(
    offer: Offer, offered: Sequence[Offered], *, doubts: Doubts | None = None
) -> tuple[Shown, ...]:
    """Return offered mixes with their ranges, in the same order.

    Parameters
    ----------
    offer : Offer
    offered : sequence of Offered
        Of that offer.
    doubts : Doubts, optional
        What is not known of the line here.
    """
    names = sorted({name for offer in offered for name, _ in offer.mix.parts})
    line = used_shades(offer.line, names)
    fractions = np.array(
        [[dict(offer.mix.parts).get(n, 0) for n in names] for offer in offered]
    )
    found = numbers(
        offer.zone,
        line,
        fractions / fractions.sum(axis=1, keepdims=True),
        setting=offer.setting,
        doubts=doubts,
    )
    return tuple(
        Shown(
            one.key,
            dict(one.mix.parts),
            found.warmth_left_percent.at(n),
            found.levels_deeper_looks.at(n),
            found.levels_deeper_measured.at(n),
            one.mix.cast,
            one.mix.hex,
            lab_to_hex(found.damp_lab.at(n).value),
            one.cost_levels,
            one.why,
        )
        for n, one in enumerate(offered)
    )


def _plain(number: Ranged[float]) -> dict[str, float]:
    return {side: round(value, 4) + 0.0 for side, value in vars(number).items()}
