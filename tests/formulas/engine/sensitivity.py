"""How each trade fact responds when one model assumption moves 20 % either way.

Run `python -m tests.formulas.engine.sensitivity` to write the table that stands beside the
engine's data anew; a test keeps it true.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from formulas.engine import Chart, Shade, Zone
from formulas.engine.hair import appearance, chart
from formulas.engine.light import wet
from formulas.engine.prediction.prediction import judge_of, show
from formulas.engine.toner import pigments, shades, uptake
from formulas.engine.toner.deposit import prepare
from formulas.engine.toner.lines import Line

TABLE = Path(wet.__file__).parent.parent / "data" / "SENSITIVITY.md"
STEP = 0.2


@dataclass(frozen=True)
class Reading:
    """What one mix leaves on one base."""

    warmth: float
    looks: float
    damp: float


def reading(
    level: float,
    words: dict[str, float],
    kind: Chart,
    *,
    minutes: float | None = None,
    **zone: float,
) -> Reading:
    """Return the reading of shades in words, by parts; at the line's own time, 20 minutes."""
    line = Line("words", "acidic", tuple(Shade.from_words(name) for name in words))
    bed = prepare(Zone(level, **zone), line, chart=kind, minutes=minutes)
    judge = judge_of(bed, kind)
    dry, damp = show(bed.mixture_ks(bed.fractions(words)))
    return Reading(
        float(judge.warmth_left_percent(dry)),
        float(judge.levels_deeper_looks(dry)),
        float(judge.level(dry) - judge.level(damp)),
    )


SLIGHT = {"10 slight violet-blue": 1.0}
TWO_TO_ONE = {"8 natural": 2.0, "8 strong violet-blue": 1.0}
PLAIN = {"8 natural": 2.0, "8 violet-blue": 1.0}

# Column: what it shows, the bounds that the trade fact sets (None: a nearby case).
COLUMNS: list[tuple[str, Callable[[Chart], float], tuple[float, float] | None]] = [
    ("10 slight violet-blue on 7.5: warmth left, %",
     lambda c: reading(7.5, SLIGHT, c).warmth, (70, 100)),
    ("the same: levels deeper", lambda c: reading(7.5, SLIGHT, c).looks, (0, 1)),
    ("2 of 8 natural, 1 of 8 strong violet-blue on 7.5: warmth left, %",
     lambda c: reading(7.5, TWO_TO_ONE, c).warmth, (-100, 35)),
    ("the same: levels deeper", lambda c: reading(7.5, TWO_TO_ONE, c).looks, (1, 2.5)),
    ("with plain 8 violet-blue: warmth left, %",
     lambda c: reading(7.5, PLAIN, c).warmth, None),
    ("the same: levels deeper", lambda c: reading(7.5, PLAIN, c).looks, None),
    ("blue less violet at 5: warmth left, %",
     lambda c: _blue_less_violet(5, c), (-1000, 0)),
    ("violet less blue at 9: warmth left, %",
     lambda c: -_blue_less_violet(9, c), (-1000, 0)),
    ("10 violet-blue on 7.5: warmth left, %",
     lambda c: reading(7.5, {"10 violet-blue": 1}, c).warmth, (20, 100)),
    ("7 violet-blue on 7.5: warmth left, %",
     lambda c: reading(7.5, {"7 violet-blue": 1}, c).warmth, (-100, 20)),
    ("the 2 to 1 mix on 7: warmth left, %",
     lambda c: reading(7, TWO_TO_ONE, c).warmth, None),
    ("the 2 to 1 mix on 8: warmth left, %",
     lambda c: reading(8, TWO_TO_ONE, c).warmth, None),
    ("damp, levels deeper", lambda c: reading(7.5, TWO_TO_ONE, c).damp, (0.5, 2.1)),
    ("the 2 to 1 mix after 10 of 20 minutes: warmth left, %",
     lambda c: reading(7.5, TWO_TO_ONE, c, minutes=10).warmth, None),
    ("the 2 to 1 mix on porous hair: warmth left, %",
     lambda c: reading(7.5, TWO_TO_ONE, c, porosity=1.0).warmth, None),
    ("the 2 to 1 mix on more golden hair (+0.5): warmth left, %",
     lambda c: reading(7.5, TWO_TO_ONE, c, undertone=0.5).warmth, None),
]  # fmt: skip


def _blue_less_violet(level: float, kind: Chart) -> float:
    blue, violet = (
        reading(level, {f"{level:g} {tone}": 1.0}, kind).warmth for tone in ("blue", "violet")
    )
    return blue - violet


@contextmanager
def _moved(module: object, name: str, factor: float) -> Iterator[Chart]:
    value = getattr(module, name)
    setattr(module, name, value * factor)
    own = Chart.default()
    try:  # a chart of its own: the default keeps what it has recovered
        yield Chart.from_lab(natural_lab=own.natural_lab, warmth_lab=own.warmth_lab)
    finally:
        setattr(module, name, value)


@contextmanager
def _powers_of_blue_and_green(factor: float) -> Iterator[Chart]:
    from dataclasses import replace

    families = dict(pigments.FAMILIES)
    stronger = {
        name: replace(families[name], power=families[name].power * factor)
        for name in ("blue", "green")
    }
    pigments.FAMILIES.update(stronger)  # type: ignore[attr-defined]
    try:
        yield Chart.default()
    finally:
        pigments.FAMILIES.update(families)  # type: ignore[attr-defined]


@contextmanager
def _chroma(kind: str, factor: float) -> Iterator[Chart]:
    own = Chart.default()
    scaled = getattr(own, kind) * np.array([1.0, factor, factor])
    yield Chart.from_lab(
        natural_lab=scaled if kind == "natural_lab" else own.natural_lab,
        warmth_lab=scaled if kind == "warmth_lab" else own.warmth_lab,
    )


@contextmanager
def _white_hair(factor: float) -> Iterator[Chart]:
    """Move K/S of white hair, which every neutral load is counted from."""
    own = shades.white_hair_ks()
    shades.white_hair_ks = lambda: factor * own  # type: ignore[assignment]
    try:
        yield Chart.default()
    finally:
        shades.white_hair_ks = original_white_hair_ks


original_white_hair_ks = shades.white_hair_ks


@contextmanager
def _strengths(word: str, factor: float) -> Iterator[Chart]:
    value = pigments.STRENGTHS[word]
    pigments.STRENGTHS[word] = value * factor  # type: ignore[index]
    try:
        yield Chart.default()
    finally:
        pigments.STRENGTHS[word] = value  # type: ignore[index]


PARAMETERS: list[tuple[str, Callable[[float], object]]] = [
    ("tone strength, 3.3", lambda f: _moved(pigments, "TONE_STRENGTH", f)),
    ("band width, sigma 45 nm", lambda f: _moved(pigments, "BAND_SIGMA_NM", f)),
    ("power of blue and green, 1.25", _powers_of_blue_and_green),
    ("strong, 1.25", lambda f: _strengths("strong", f)),
    ("slight, 0.15", lambda f: _strengths("slight", f)),
    ("chroma of natural hair", lambda f: _chroma("natural_lab", f)),
    ("chroma of exposed warmth", lambda f: _chroma("warmth_lab", f)),
    ("full cast, 20", lambda f: _moved(appearance, "FULL_CAST", f)),
    ("share thrown back when wet, 0.472", lambda f: _moved(wet, "THROWN_BACK", f)),
    ("undertone turn, 14 degrees", lambda f: _moved(chart, "UNDERTONE_TURN_DEG", f)),
    ("uptake bend, 2", lambda f: _moved(uptake, "SATURATION", f)),
    ("pace of porous hair, 2", lambda f: _moved(uptake, "PACE_PER_POROSITY", f)),
    ("hold of porous hair, 0.12", lambda f: _moved(uptake, "HOLD_PER_POROSITY", f)),
    ("absorption of white hair (L* 82)", _white_hair),
]


def values(kind: Chart) -> list[float]:
    """Return every column's value."""
    return [read(kind) for _, read, _ in COLUMNS]


def rows() -> list[tuple[str, list[float]]]:
    """Return (parameter and step, values), the unmoved model first."""
    found = [("as it stands", values(Chart.default()))]
    for label, moved in PARAMETERS:
        for sign in (-STEP, STEP):
            with moved(1.0 + sign) as kind:  # type: ignore[attr-defined]
                found.append((f"{label}: {100 * sign:+.0f} %", values(kind)))
    return found


def holds(column: int, value: float) -> bool:
    """Return whether a value meets its trade fact; nearby cases always do."""
    bounds = COLUMNS[column][2]
    return bounds is None or bounds[0] <= value <= bounds[1]


def table() -> str:
    """Return the table as Markdown."""
    lines = [
        "# How the trade facts respond to the model's assumptions",
        "",
        "Each assumption moved 20 % either way, the others as they stand. **Bold**: the trade",
        "fact (common practice, no source) no longer holds there. Columns without bounds are",
        "nearby cases. Written by `python -m tests.formulas.engine.sensitivity`; a test keeps",
        "it true.",
        "",
    ]
    for n, (label, _, bounds) in enumerate(COLUMNS, start=1):
        lines.append(f"{n}. {label}{_bounds_in_words(bounds)}")
    lines += ["", "| moved | " + " | ".join(str(n + 1) for n in range(len(COLUMNS))) + " |"]
    lines.append("|---|" + "---:|" * len(COLUMNS))
    for label, numbers in rows():
        cells = [_cell(n, value) for n, value in enumerate(numbers)]
        lines.append(f"| {label} | " + " | ".join(cells) + " |")
    return "\n".join(lines) + "\n"


def _bounds_in_words(bounds: tuple[float, float] | None) -> str:
    if bounds is None:
        return ""
    low, high = bounds
    if low <= -100:
        return f" (fact: {high:g} or less)"
    return f" (fact: {low:g} to {high:g})" if high < 100 else f" (fact: {low:g} or more)"


def _cell(column: int, value: float) -> str:
    text = f"{value:.2f}" if "levels" in COLUMNS[column][0] else f"{value:.0f}"
    return text if holds(column, value) else f"**{text}**"


if __name__ == "__main__":
    TABLE.write_text(table(), encoding="utf-8")
