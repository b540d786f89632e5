"""How each trade fact responds when one model assumption moves 20 % either way.

Run `python -m tests.formulas.engine.sensitivity` to write the table that stands beside the
engine's data anew; a test keeps it true.
"""

from collections.abc import Callable, Iterator, Mapping
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path

import numpy as np

from formulas.engine import Chart
from formulas.engine.cli import facts, readings
from formulas.engine.hair import appearance, chart
from formulas.engine.light import wet
from formulas.engine.toner import calibration, deposit, pigments, shades, uptake

TABLE = Path(wet.__file__).parent.parent / "data" / "SENSITIVITY.md"
STEP = 0.2


KIND = "acidic"
PLAIN = {"8 natural": 2.0, "8 violet-blue": 1.0}


def _near(level: float, words: Mapping[str, float], **how: float) -> Callable[[Chart], float]:
    return lambda chart: readings.reading(chart, KIND, level, words, **how).warmth


# Nearby cases, which no fact bounds.
NEARBY: list[tuple[str, Callable[[Chart], float]]] = [
    ("2 x 8 natural, 1 x 8 violet-blue on 7.5: warmth left", _near(7.5, PLAIN)),
    ("the 2 to 1 mix on 7: warmth left", _near(7, facts.TWO_TO_ONE)),
    ("the 2 to 1 mix on 8: warmth left", _near(8, facts.TWO_TO_ONE)),
    ("the 2 to 1 mix after 10 of 20 minutes: warmth left",
     _near(7.5, facts.TWO_TO_ONE, minutes=10)),
    ("the 2 to 1 mix on porous hair: warmth left", _near(7.5, facts.TWO_TO_ONE, porosity=1.0)),
    ("the 2 to 1 mix on more golden hair (+0.5): warmth left",
     _near(7.5, facts.TWO_TO_ONE, undertone=0.5)),
    ("6 blue on 6: warmth left", _near(6, {"6 blue": 1.0})),
]  # fmt: skip
# A shade's own level holds by construction, whatever the numbers.
FACTS = [fact for fact in facts.FACTS if "white hair" not in fact.text]


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
    modules = (shades, deposit, readings)
    for module in modules:
        module.white_hair_ks = lambda: factor * own  # type: ignore[attr-defined]
    try:
        yield Chart.default()
    finally:
        for module in modules:
            module.white_hair_ks = original_white_hair_ks  # type: ignore[attr-defined]


original_white_hair_ks = shades.white_hair_ks


def _moved_entry(table: str, key: str, factor: float) -> "AbstractContextManager[Chart]":
    return _entry(getattr(calibration, table), key, factor)


@contextmanager
def _entry(table: dict[str, float], key: str, factor: float) -> Iterator[Chart]:
    value = table[key]
    table[key] = value * factor
    try:
        yield Chart.default()
    finally:
        table[key] = value


Move = Callable[[float], "AbstractContextManager[Chart]"]
PARAMETERS: list[tuple[str, Move]] = [
    ("tone share, 0.9", lambda f: _moved(calibration, "TONE_SHARE", f)),
    ("strong, 1.12", lambda f: _moved_entry("STRENGTHS", "strong", f)),
    ("soft, 0.6", lambda f: _moved_entry("STRENGTHS", "soft", f)),
    ("slight, 0.15", lambda f: _moved_entry("STRENGTHS", "slight", f)),
    ("uptake at little lift, 0.15", lambda f: _moved_entry("UPTAKE_LITTLE", KIND, f)),
    ("uptake at much lift, 1.5", lambda f: _moved_entry("UPTAKE_MUCH", KIND, f)),
    ("half of the uptake at 4 levels",
     lambda f: _moved(calibration, "UPTAKE_HALF_WAY_LEVELS", f)),
    ("usual natural level, 4", lambda f: _moved(calibration, "USUAL_NATURAL_LEVEL", f)),
    ("most tone, 1", lambda f: _moved(calibration, "MOST_TONE", f)),
    ("band width, sigma 40 nm", lambda f: _moved(pigments, "BAND_SIGMA_NM", f)),
    ("power of blue and green, 1.25", _powers_of_blue_and_green),
    ("chroma of natural hair", lambda f: _chroma("natural_lab", f)),
    ("chroma of exposed warmth", lambda f: _chroma("warmth_lab", f)),
    ("full cast, 20", lambda f: _moved(appearance, "FULL_CAST", f)),
    ("share thrown back when wet, 0.472", lambda f: _moved(wet, "THROWN_BACK", f)),
    ("undertone turn, 14 degrees", lambda f: _moved(chart, "UNDERTONE_TURN_DEG", f)),
    ("uptake bend, 1.5", lambda f: _moved(calibration, "SATURATION", f)),
    ("pace of porous hair, 2", lambda f: _moved(uptake, "PACE_PER_POROSITY", f)),
    ("hold of porous hair, 0.12", lambda f: _moved(uptake, "HOLD_PER_POROSITY", f)),
    ("absorption of white hair (L* 82)", _white_hair),
]  # fmt: skip


# What no choice of the free numbers gives, so that nobody looks for it again.
NOT_MET = (
    "Two things stay off. The 2 to 1 mix on 7.5 leaves 39 % where 35 are asked (within the",
    "tolerance), and plain 6 blue on 6 leaves 27 % where an on-level tone should leave 20.",
    "A search over all nine free numbers (`calibrate --fit`, with the second as a fact of",
    "its own) ends at 38 and 23 %, and pays for it: 7 natural on 7 then looks 1.55 levels",
    "deeper (1.5 asked), 5 blue and natural leave less than 35 %, and the uptake's bend is at",
    "its bound. More pigment per level takes out more warmth only by going deeper, and",
    "naturals are as deep as they may be. So the numbers stay as they are.",
)


def values(kind: Chart) -> list[float]:
    """Return every column's value: facts, then nearby cases."""
    return [f.value(kind, KIND) for f in FACTS] + [read(kind) for _, read in NEARBY]


def rows() -> list[tuple[str, list[float]]]:
    """Return (parameter and step, values), the unmoved model first."""
    found = [("as it stands", values(Chart.default()))]
    for label, moved in PARAMETERS:
        for sign in (-STEP, STEP):
            with moved(1.0 + sign) as kind:
                shades.forget()
                found.append((f"{label}: {100 * sign:+.0f} %", values(kind)))
            shades.forget()
    return found


def holds(column: int, value: float) -> bool:
    """Return whether a value meets its fact within its tolerance; nearby cases always do."""
    return column >= len(FACTS) or FACTS[column].holds(value)


def table() -> str:
    """Return the table as Markdown."""
    lines = [
        "# How the trade facts respond to the model's assumptions",
        "",
        "Each assumption moved 20 % either way, the others as they stand. **Bold**: the trade",
        "fact no longer holds there, within 5 points of warmth, 0.1 level, 2 degrees. Columns",
        "without bounds are nearby cases; the line is acidic. Written by",
        "`python -m tests.formulas.engine.sensitivity`; a test keeps it true.",
        "",
        *NOT_MET,
        "",
    ]
    for n, fact in enumerate(FACTS, start=1):
        lines.append(f"{n}. {fact.text}, {fact.unit} (fact: {_bounds_in_words(fact)})")
    for n, (label, _) in enumerate(NEARBY, start=len(FACTS) + 1):
        lines.append(f"{n}. {label}, %")
    count = len(FACTS) + len(NEARBY)
    lines += ["", "| moved | " + " | ".join(str(n + 1) for n in range(count)) + " |"]
    lines.append("|---|" + "---:|" * count)
    for label, numbers in rows():
        cells = [_cell(n, value) for n, value in enumerate(numbers)]
        lines.append(f"| {label} | " + " | ".join(cells) + " |")
    return "\n".join(lines) + "\n"


def _bounds_in_words(fact: facts.Fact) -> str:
    return f"{fact.high:g} or less" if fact.low <= -1000 else f"{fact.low:g} to {fact.high:g}"


def _cell(column: int, value: float) -> str:
    fine = column < len(FACTS) and FACTS[column].unit in {"levels", "a*b*"}
    text = f"{value:.2f}" if fine else f"{value:.0f}"
    return text if holds(column, value) else f"**{text}**"


if __name__ == "__main__":
    TABLE.write_text(table(), encoding="utf-8")
