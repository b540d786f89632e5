"""What the engine's command answers: plain data for JSON, lines of text for people."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any, TypedDict

import numpy as np

from formulas.engine.limit.band import limit_band, telling_entries
from formulas.engine.prediction.candidates import Candidate
from formulas.engine.prediction.prediction import Prediction, predict
from formulas.engine.prediction.ranged import Ranged
from formulas.engine.search.offer import offer
from formulas.engine.search.ranking import rank
from formulas.engine.search.search import search
from formulas.engine.search.shown import shown
from formulas.engine.toner.lines import Line
from formulas.engine.toner.zone import Zone

_RANGED = (
    "dry_lab",
    "damp_lab",
    "level",
    "warmth_left_percent",
    "levels_deeper_measured",
    "levels_deeper_looks",
    "damp_levels_deeper",
)
_LABELS = {
    "level": "level",
    "warmth_left_percent": "warmth left, %",
    "levels_deeper_measured": "levels deeper, measured",
    "levels_deeper_looks": "levels deeper, as it looks",
    "damp_levels_deeper": "damp, levels deeper",
}


@dataclass(frozen=True)
class Answer:
    """`data` for JSON, `lines` for reading."""

    data: Any
    lines: list[str]


def predicted(
    zone: Zone,
    line: Line,
    parts: Mapping[str, float],
    *,
    minutes: float | None,
    developer_ratio: float | None,
) -> Answer:
    """Return a prediction, every number with its low and high."""
    prediction = predict(zone, line, parts, minutes=minutes, developer_ratio=developer_ratio)
    data = {
        "zone": _reading(zone),
        "line": line.name,
        "parts": dict(parts),
        "minutes": line.processing_minutes if minutes is None else minutes,
        "start_lab": _plain(prediction.start_lab),
        "start_damp_lab": _plain(prediction.start_damp_lab),
        "start_warmth_percent": _plain(prediction.start_warmth_percent),
        **{name: _with_range(getattr(prediction, name)) for name in _RANGED},
        "cast": _plain(prediction.cast),
        **{
            name: getattr(prediction, name)
            for name in ("start_hex", "start_damp_hex", "dry_hex", "damp_hex")
        },
        "terms": [_rounded(asdict(term)) for term in prediction.terms],
        "residual": prediction.residual_term and _rounded(asdict(prediction.residual_term)),
        "sentences": [sentence.text for sentence in prediction.sentences],
    }
    return Answer(data, _as_text(prediction))


class MixData(TypedDict):
    """A mix as it is printed; numbers at a ten-thousandth."""

    parts: dict[str, int]
    warmth_left_percent: float
    levels_deeper_measured: float
    levels_deeper_looks: float
    cast: float
    lab: list[float]
    hex: str


class RankedMixData(MixData):
    """A mix ranked for an aim, with the reasons."""

    aim: float
    rank: int
    gap_levels: float
    reasons: list[str]


def limited(zone: Zone, *, points: int) -> Answer:
    """Return the line of this chart as a list of points with their range, warmest first."""
    band = limit_band(zone, points=points)
    names = ("warmth_left_percent", "levels_deeper_measured", "levels_deeper_looks")
    data = [
        {
            **dict(zip(names, map(_plain, row), strict=True)),
            "levels_deeper_looks_low": _plain(low),
            "levels_deeper_looks_high": _plain(high),
        }
        for *row, low, high in zip(
            *(getattr(band.curve, name) for name in names), band.low, band.high, strict=True
        )
    ]
    head = "warmth left, %   levels deeper at least: measured, as it looks (range)"
    text = [
        f"{p[names[0]]:14.1f} {p[names[1]]:34.2f} {p[names[2]]:14.2f} "
        f"({p['levels_deeper_looks_low']:.2f} to {p['levels_deeper_looks_high']:.2f})"
        for p in data
    ]
    text += [
        f"measured, the {entry.kind} of level {entry.level:g} would make this chart's line "
        f"surer: it moves it by {entry.levels:.2f} levels"
        for entry in telling_entries(zone)
    ]
    return Answer(data, [head, *text])


def searched(
    zone: Zone,
    line: Line,
    *,
    minutes: float | None,
    max_shades: int,
    max_parts: int,
    aims: Sequence[float],
    k: int,
) -> Answer:
    """Return the frontier, the best mixes for each aim, and how many were evaluated."""
    result = search(zone, line, minutes=minutes, max_shades=max_shades, max_parts=max_parts)
    frontier = [_mix(candidate) for candidate in result.frontier]
    ranked: list[RankedMixData] = [
        {
            "aim": aim,
            "rank": place,
            **_mix(one.candidate),
            "gap_levels": _plain(one.gap_levels),
            "reasons": [reason.text for reason in one.reasons],
        }
        for aim, mixes in zip(aims, rank(result, aims, k=k), strict=True)
        for place, one in enumerate(mixes, start=1)
    ]
    data = {
        "zone": _reading(zone),
        "line": line.name,
        "evaluated": result.evaluated,
        "frontier": frontier,
        "ranked": ranked,
    }
    text = [f"{result.evaluated} mixes evaluated, {len(result.frontier)} on the frontier"]
    for row in ranked:
        text.append(f"aim {row['aim']:g} %, {row['rank']}: {_mix_in_words(row)}")
        text += [f"    {reason}" for reason in row["reasons"]]
    if not ranked:
        text += map(_mix_in_words, frontier)
    return Answer(data, text)


def suggested(
    zone: Zone,
    line: Line,
    *,
    minutes: float | None,
    wanted_level: float | None,
    bowl_grams: float,
) -> Answer:
    """Return the offered mixes as the screen gets them, each number with its range."""
    found = offer(zone, line, minutes=minutes, wanted_level=wanted_level, bowl_grams=bowl_grams)
    rows = shown(found, found.places)
    text = []
    for row, one in zip(rows, found.places, strict=True):
        text += [f"{one.key}: {_mix_in_words(_mix(one.mix))}", f"    {row.why.text}"]
    return Answer({"places": [row.as_data() for row in rows]}, text)


def _mix(candidate: Candidate) -> MixData:
    return {
        "parts": dict(candidate.parts),
        "warmth_left_percent": _plain(candidate.warmth_left_percent),
        "levels_deeper_measured": _plain(candidate.levels_deeper_measured),
        "levels_deeper_looks": _plain(candidate.levels_deeper_looks),
        "cast": _plain(candidate.cast),
        "lab": _plain(candidate.lab),
        "hex": candidate.hex,
    }


def _mix_in_words(mix: MixData) -> str:
    parts = ", ".join(f"{count} {name}" for name, count in mix["parts"].items())
    return (
        f"{mix['warmth_left_percent']:6.1f} % warmth left, looks "
        f"{mix['levels_deeper_looks']:.2f} levels deeper: {parts}"
    )


def _as_text(prediction: Prediction) -> list[str]:
    lines = []
    for name, label in _LABELS.items():
        number = getattr(prediction, name)
        lines.append(f"{label:28}{number.value:7.2f}   ({number.low:.2f} to {number.high:.2f})")
    for label, lab, code in (
        ("dry", prediction.dry_lab.value, prediction.dry_hex),
        ("damp", prediction.damp_lab.value, prediction.damp_hex),
    ):
        lines.append(f"{label:28}L* {lab[0]:.1f}  a* {lab[1]:.1f}  b* {lab[2]:.1f}  {code}")
    lines.append("what moved it: warmth %, levels deeper as it looks")
    for term in prediction.terms:
        label = f"  {term.shade} {term.part}".replace("   ", "  ")
        lines.append(f"{label:28}{term.warmth_percent:+7.1f} {term.levels_deeper:+7.2f}")
    return [*lines, *(sentence.text for sentence in prediction.sentences)]


def _reading(zone: Zone) -> dict[str, float]:
    names = ("lifted_level", "undertone", "white_percent", "porosity")
    return {name: _plain(getattr(zone, name)) for name in names}


def _with_range(number: Ranged[Any]) -> dict[str, object]:
    return {name: _plain(getattr(number, name)) for name in ("value", "low", "high")}


def _rounded(values: Mapping[str, object]) -> dict[str, object]:
    return {k: v if isinstance(v, str) else _plain(v) for k, v in values.items()}


def _plain(value: Any) -> Any:
    """Return numbers as JSON holds them, at a ten-thousandth: finer would be noise."""
    if np.ndim(value):
        return [_plain(v) for v in value]
    return round(float(value), 4) + 0.0
