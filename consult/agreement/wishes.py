""" "Cool, and as light as now": why no mix can be there, and what is nearest."""

from dataclasses import dataclass

import numpy as np

from consult.agreement.planning import Plan
from formulas import warmth_words

NEUTRAL_PERCENT = 0.0


@dataclass(frozen=True)
class Wish:
    """What the limit says of the wish, on this hair; warmths are in words.

    `limit_deeper` is what even a perfect deposit would cost at no warmth, `mix_deeper` what
    the coolest-wanted mix of the shelf costs there, None where the shelf does not reach it;
    `warmth_kept_light` what stays if it may look half a level deeper at most.
    """

    limit_deeper: float
    mix_deeper: float | None
    mix_warmth: str
    warmth_kept_light: str
    is_beyond: bool


def cool_and_light(plan: Plan) -> Wish:
    """Return why no warmth and no depth cannot both be had here."""
    curve = np.array(sorted(plan.suggestion.limit))
    limit_deeper = float(np.interp(NEUTRAL_PERCENT, curve[:, 0], curve[:, 1]))
    coolest = plan.nearest(NEUTRAL_PERCENT)
    reaches = abs(coolest["warmth_left_percent"] - NEUTRAL_PERCENT) < 10
    light = [mix for mix in plan.mixes if mix["levels_deeper_looks"] <= 0.5]
    start = plan.suggestion.beginning
    kept = min((mix["warmth_left_percent"] for mix in light), default=start["start"])
    return Wish(
        limit_deeper=limit_deeper,
        mix_deeper=coolest["levels_deeper_looks"] if reaches else None,
        mix_warmth=warmth_words.in_full(coolest["warmth_left_percent"], **start),
        warmth_kept_light=warmth_words.in_full(kept, **start),
        is_beyond=limit_deeper > 0.05,
    )
