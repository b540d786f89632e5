"""`python -m formulas.engine simulate`: how ranges and learning do where the truth is known."""

import numpy as np

from formulas.engine.cli.answers import Answer
from formulas.engine.toner.lines import Line
from formulas.engine.visits.judging import Held, coverage, strength_error
from formulas.engine.visits.learning import learn
from formulas.engine.visits.simulation import SHADES, Physics, Salon, drawn_strengths

_SPREAD = 0.12  # of true strengths where ranges are judged


def simulated(line: Line, *, salons: int, results: int, measured: bool, seed: int) -> Answer:
    """Return coverage in another physics, false offers, and how far learning lowers errors."""
    held = coverage(
        lambda n: other_physics(line, seed + n),
        salons=salons,
        results=results,
        cases=100,
        measured=measured,
    )
    false = sum(
        learn(line, Salon(line, _random(seed, n)).results(results, measured=measured)).improves
        for n in range(salons)
    )
    errors = np.array(
        [_error(line, results, measured, _random(seed, n)) for n in range(salons)]
    )
    own, learned = np.sqrt((errors**2).mean(axis=0))
    left = learned / own
    data = {
        "salons": salons,
        "results": results,
        "measured": measured,
        "before": vars(held[0]),
        "after": vars(held[1]),
        "false_offers": int(false),
        "strength_error_left": {"depth": float(left[0]), "warmth": float(left[1])},
    }
    return Answer(
        data,
        [
            f"{salons} invented salons, {results} results each, "
            f"{'measured' if measured else 'read by eye'}",
            f"another physics, before any result: {_as_text(held[0])}",
            f"another physics, after:             {_as_text(held[1])}",
            f"no true difference: strengths offered in {false} of {salons}",
            "strengths off by 15 to 25 %: "
            f"{left[0]:.0%} of their error in depth is left, {left[1]:.0%} in warmth",
        ],
    )


def other_physics(line: Line, seed: int) -> Salon:
    """Return a salon of another physics, whose shades are off by about 12 %."""
    random = np.random.default_rng(seed)
    spread = random.normal(0.0, _SPREAD, len(SHADES))
    strengths = {
        name: float(np.exp(off))
        for name, off in zip(SHADES, spread, strict=True)
        if name != "clear"
    }
    return Salon(line, random, Physics.drawn(random), strengths)


def _random(seed: int, n: int) -> np.random.Generator:
    return np.random.default_rng(10_000 + seed + n)


def _error(
    line: Line, results: int, measured: bool, random: np.random.Generator
) -> tuple[np.ndarray, np.ndarray]:
    salon = Salon(line, random, strengths=drawn_strengths(SHADES, random))
    learned = learn(line, salon.results(results, measured=measured))
    return strength_error(salon, learned.factors(), cases=80)


def _as_text(held: Held) -> str:
    depth, warmth = held.coverage
    wide, wider = held.too_wide
    return (
        f"{depth:.1%} of depths and {warmth:.1%} of warmths within their range, "
        f"{wide:.2f} and {wider:.2f} times as wide as needed"
    )
