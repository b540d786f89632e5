"""`python -m formulas.engine calibrate`: the facts of the trade beside what the model gives."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, TypedDict

import numpy as np

from formulas.engine.cli.answers import Answer
from formulas.engine.cli.facts import FACTS, TOLERANCE, Fact
from formulas.engine.hair.chart import Chart
from formulas.engine.light.grid import Array
from formulas.engine.toner import calibration, shades

KINDS = ("acidic", "alkaline")
# The free numbers: table and key, or name alone, and the range within which they make sense.
FREE: tuple[tuple[str, str | None, float, float], ...] = (
    ("TONE_SHARE", None, 0.5, 0.95),
    ("STRENGTHS", "soft", 0.2, 0.7),
    ("STRENGTHS", "strong", 1.1, 2.0),
    ("UPTAKE_LITTLE", "acidic", 0.1, 0.6),
    ("UPTAKE_LITTLE", "alkaline", 0.1, 0.6),
    ("UPTAKE_MUCH", "acidic", 1.1, 1.7),
    ("UPTAKE_MUCH", "alkaline", 1.1, 1.7),
    ("UPTAKE_HALF_WAY_LEVELS", None, 1.5, 4.5),
    ("SATURATION", None, 0.6, 2.2),
)
# Half of a tolerance is what keeping one number where it is may cost in the fit.
_PULL = 0.5


def calibrated(*, fit: bool = False) -> Answer:
    """Return every fact with its wanted range, what comes out and the residual."""
    chart = Chart.default()
    rows = [row(fact, kind, chart) for fact in FACTS for kind in KINDS]
    lines = [
        f"{'':2}{'fact':<64}{'line':<10}{'wanted':>16}{'comes out':>11}{'residual':>10}",
        *(_as_text(found) for found in rows),
        "",
        f"{sum(1 for found in rows if found['residual'] == 0)} of {len(rows)} outright, "
        f"{sum(1 for found in rows if found['holds'])} within "
        + ", ".join(f"{size:g} {unit}" for unit, size in TOLERANCE.items())
        + ". * is outside.",
        "",
        *(f"  {name}: {value:g}" for name, value in constants().items()),
    ]
    data: dict[str, object] = {"facts": rows, "constants": constants()}
    if fit:
        moved = data["fitted"] = fitted(chart)
        lines += ["", "A search from here would move them to:"]
        lines += [f"  {name}: {value:.3f}" for name, value in moved.items()]
    return Answer(data, lines)


class FactRow(TypedDict):
    """A trade fact for one kind of line: wanted, what comes out, by how much it misses."""

    fact: str
    kind: str
    unit: str
    low: float
    high: float
    value: float
    residual: float
    holds: bool
    source: str


def row(fact: Fact, kind: str, chart: Chart) -> FactRow:
    """Return one fact for one kind of line, as plain data."""
    value = fact.value(chart, kind)
    return {
        "fact": fact.text,
        "kind": kind,
        "unit": fact.unit,
        "low": fact.low,
        "high": fact.high,
        "value": round(value, 3),
        "residual": round(fact.missed(value), 3),
        "holds": fact.holds(value),
        "source": fact.source,
    }


def _as_text(found: FactRow) -> str:
    low, high = found["low"], found["high"]
    wanted = f"{high:g} or less" if low <= -1000 else f"{low:g} to {high:g}"
    mark = "  " if found["holds"] else "* "
    return (
        f"{mark}{found['fact']:<64}{found['kind']:<10}{wanted:>16}{found['value']:>11.2f}"
        f"{found['residual']:>10.2f}"
    )


def constants() -> dict[str, float]:
    """Return the free numbers in force, by name."""
    return {_name(table, key): _get(table, key) for table, key, _, _ in FREE}


def fitted(chart: Chart) -> dict[str, float]:
    """Return where a search would move the free numbers: facts first, then little change."""
    from scipy.optimize import minimize

    low, high = (np.array([free[n] for free in FREE]) for n in (2, 3))
    start = np.array(list(constants().values()))

    def cost(x: Array) -> float:
        x = np.clip(x, low, high)
        with in_force(x):
            missed = [
                fact.missed(fact.value(chart, kind)) / TOLERANCE[fact.unit]
                for fact in FACTS
                for kind in KINDS
            ]
        moved = (x - start) / (high - low)
        return float(np.square(missed).sum() + _PULL * np.square(moved).sum())

    found = minimize(cost, start, method="Nelder-Mead", options={"maxfev": 300, "xatol": 1e-3})
    return dict(zip(constants(), np.clip(found.x, low, high).tolist(), strict=True))


@contextmanager
def in_force(values: Array) -> Iterator[None]:
    """Put other free numbers in force for a while."""
    before = list(constants().values())
    try:
        _set(values)
        yield
    finally:
        _set(before)


def _set(values: Any) -> None:
    for (table, key, _, _), value in zip(FREE, values, strict=True):
        if key is None:
            setattr(calibration, table, float(value))
        else:
            getattr(calibration, table)[key] = float(value)
    shades.forget()


def _get(table: str, key: str | None) -> float:
    value = getattr(calibration, table)
    return float(value if key is None else value[key])


def _name(table: str, key: str | None) -> str:
    return table if key is None else f"{table}[{key}]"
