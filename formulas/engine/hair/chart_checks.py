"""What a chart must satisfy before the engine computes with it."""

import numpy as np
from numpy.typing import ArrayLike

from formulas.engine.checks import EngineRefusal
from formulas.engine.light.grid import Array

# Warmth below this much more than natural hair's, in units of a*b*, is none.
_LEAST_WARMTH = 0.5


def checked_colours(lab: ArrayLike, levels: Array, on: Array, *, name: str) -> Array:
    """Return L*a*b* at the levels `on`, (m, 3), from colours (n, 3) at `levels` (n,).

    Raises
    ------
    ValueError
        If shapes or levels are wrong, a value is not finite, or L* does not rise.
    """
    if levels.ndim != 1 or not np.all(np.isfinite(levels)) or np.any(np.diff(levels) <= 0):
        raise ValueError(f"levels [level] must rise without repeats, given {levels.tolist()}")
    values = np.array(lab, dtype=float)
    if values.shape != (len(levels), 3):
        raise ValueError(
            f"{name} [L*a*b*] needs shape ({len(levels)}, 3), given {values.shape}"
        )
    if levels[0] > on[0] or levels[-1] < on[-1]:
        raise ValueError(
            f"levels [level] must cover {on[0]:g} to {on[-1]:g}, "
            f"given {levels[0]:g} to {levels[-1]:g}"
        )
    if not np.all(np.isfinite(values)):
        text = f"{name} [L*a*b*] holds values that are not finite numbers"
        raise EngineRefusal("no_colour", text)
    darker = np.flatnonzero(np.diff(values[:, 0]) <= 0)
    if len(darker):
        at = int(darker[0]) + 1
        raise EngineRefusal(
            "not_lighter",
            f"{name} [L*a*b*]: level {levels[at]:g} is not lighter than level "
            f"{levels[at - 1]:g} (L* {values[at, 0]:.1f} against {values[at - 1, 0]:.1f}); "
            "hair must get lighter as the level rises",
            level=float(levels[at]),
            below=float(levels[at - 1]),
            own=round(float(values[at, 0]), 1),
            other=round(float(values[at - 1, 0]), 1),
        )
    return np.stack([np.interp(on, levels, values[:, k]) for k in range(3)], axis=-1)


def refuse_cool_warmth(natural: Array, warmth: Array, levels: Array) -> None:
    """Raise ValueError where exposed warmth is no warmer than natural hair as dark, (n, 3)."""
    same_depth = [np.interp(warmth[:, 0], natural[:, 0], natural[:, k]) for k in (1, 2)]
    excess = warmth[:, 1:] - np.stack(same_depth, axis=-1)
    chroma = np.maximum(np.hypot(warmth[:, 1], warmth[:, 2]), 1e-9)
    warmer = (excess * warmth[:, 1:]).sum(axis=1) / chroma
    cool = np.flatnonzero(warmer < _LEAST_WARMTH)
    if len(cool):
        raise EngineRefusal(
            "not_warmer",
            f"warmth_lab [L*a*b*]: level {levels[cool[0]]:g} is no warmer than natural hair of "
            f"the same depth (a* {warmth[cool[0], 1]:.1f}, b* {warmth[cool[0], 2]:.1f}); "
            "what lightening exposes must lie on its warm side",
            level=float(levels[cool[0]]),
        )
