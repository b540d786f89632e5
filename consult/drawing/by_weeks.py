"""Single values and their means by weeks: dots, and a mean with its whisker over its weeks."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.formats import number_format
from django.utils.safestring import SafeString

from salon.drawing.markup import drawing, text

LEFT, RIGHT, TOP, BOTTOM = 52.0, 408.0, 30.0, 178.0
MOST_STEPS = 5


@dataclass(frozen=True)
class Bar:
    """A mean over some weeks with its range."""

    first: float
    last: float
    mean: float
    low: float
    high: float


def by_weeks_svg(
    dots: Sequence[tuple[float, float]],
    bars: Sequence[Bar],
    *,
    title: str,
    across: str,
    weeks: int,
    step: float,
    places: int,
) -> SafeString:
    """Return dots (weeks, value) and means; `step` is what the scale goes up by at least."""
    low, high, step = _reach(dots, bars, step)

    def x(value: float) -> float:
        return LEFT + (RIGHT - LEFT) * min(max(value, 0.0), weeks) / weeks

    def y(value: float) -> float:
        return BOTTOM - (BOTTOM - TOP) * (value - low) / (high - low)

    def rule(value: float) -> tuple[object, ...]:
        words = text(LEFT - 8, y(value) + 4, _signed(value, places), anchor="end")
        return f"{y(value):.1f}", words, abs(value) < 1e-9

    def bar(row: Bar) -> tuple[str, str]:
        left, right = x(row.first - 0.4), x(row.last + 0.4)
        middle, ends = (left + right) / 2, (y(row.low), y(row.high))
        caps = "".join(f"M{middle - 5:.1f} {end:.1f}h10" for end in ends)
        return (
            f"M{middle:.1f} {ends[0]:.1f}V{ends[1]:.1f}{caps}",
            f"M{left:.1f} {y(row.mean):.1f}H{right:.1f}",
        )

    return drawing(
        "by_weeks",
        title=text(8, 16, title),
        across=text((LEFT + RIGHT) / 2, 212, across, anchor="middle"),
        rules=[rule(low + n * step) for n in range(round((high - low) / step) + 1)],
        weeks=[
            text(x(week), BOTTOM + 18, str(week), anchor="middle")
            for week in range(0, weeks + 1, 2)
        ],
        # One dot hides another at its place.
        dots=list(dict.fromkeys((f"{x(week):.1f}", f"{y(value):.1f}") for week, value in dots)),
        bars=[bar(row) for row in bars],
    )


def _reach(
    dots: Sequence[tuple[float, float]], bars: Sequence[Bar], step: float
) -> tuple[float, float, float]:
    """Return the lowest and the highest value of the scale, and its step."""
    every = [0.0, *(v for _week, v in dots), *(v for b in bars for v in (b.low, b.high))]
    while (max(every) - min(every)) / step > MOST_STEPS:
        step *= 2
    return step * (min(every) // step), step * -(-max(*every, step) // step), step


def _signed(value: float, places: int) -> str:
    words = number_format(abs(round(value, places)), places)
    return words if abs(value) < 1e-9 else f"+{words}" if value > 0 else f"−{words}"
