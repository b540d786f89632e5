"""Why a mix has its place on the short list, as codes with plain English beside."""

from formulas.engine.prediction.candidates import Candidate
from formulas.engine.prediction.explain import Sentence

NEAR_LIMIT_LEVELS = 0.25
LEAN_CAST = 3.0


def reasons(
    candidate: Candidate,
    *,
    distance: float,
    gap: float,
    cost: float | None,
    bowls: float | None,
    near: float,
) -> tuple[Sentence, ...]:
    """Return the reasons for a mix, in the order in which the ranking asks.

    Parameters
    ----------
    candidate : Candidate
    distance : float
        From the aim. [% warmth]
    gap : float
        Deeper than the limit, as it looks. [levels]
    cost : float or None
        Of one bowl; any currency.
    bowls : float or None
        How many bowls the stock fills. [count]
    near : float
        What counts as meeting the aim. [% warmth]
    """
    sentences = [
        _about_aim(distance, near),
        _about_limit(gap),
        _about_shades(len(candidate.parts)),
    ]
    if abs(candidate.cast) > LEAN_CAST:
        sentences.append(_about_cast(candidate.cast))
    if bowls is not None and bowls < 2:
        sentences.append(
            Sentence("last_bowl", "The stock fills one such bowl only.", {"bowls": bowls})
        )
    elif bowls is not None:
        text = f"The stock fills {int(bowls)} such bowls."
        sentences.append(Sentence("bowls_in_stock", text, {"bowls": bowls}))
    if cost is not None:
        sentences.append(Sentence("cost", f"One bowl costs {cost:.2f}.", {"cost": cost}))
    return tuple(sentences)


def _about_aim(distance: float, near: float) -> Sentence:
    if distance <= near:
        return Sentence("on_aim", "It meets the chosen warmth.", {"percent": distance})
    text = f"It misses the chosen warmth by {distance:.0f} %."
    return Sentence("off_aim", text, {"percent": distance})


def _about_limit(gap: float) -> Sentence:
    if gap <= NEAR_LIMIT_LEVELS:
        text = "Hardly any mix could be lighter at this warmth."
        return Sentence("near_limit", text, {"levels": gap})
    text = f"It looks {gap:.1f} levels deeper than the lightest that physics allows."
    return Sentence("above_limit", text, {"levels": gap})


def _about_shades(count: int) -> Sentence:
    if count == 1:
        return Sentence("one_shade", "One shade only.", {"shades": count})
    return Sentence("several_shades", f"{count} shades in one bowl.", {"shades": count})


def _about_cast(cast: float) -> Sentence:
    if cast > 0:
        return Sentence("green_lean", "It leans slightly towards green.", {"cast": cast})
    return Sentence("red_lean", "It leans slightly towards red-violet.", {"cast": cast})
