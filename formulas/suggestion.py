"""The one bridge between the records and the engine: rows in, plain data out.

Everything returned can be frozen as JSON, and carries the versions that it stands on, so
that an old suggestion can be explained years later.
"""

import datetime as dt
import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field
from functools import lru_cache
from typing import Any

from django.utils.translation import gettext as _

from formulas import engine, selectors, wording
from formulas.engine.colorimetry import lab_to_hex, reflectance_to_lab
from formulas.engine.kubelka_munk import to_reflectance
from formulas.engine.wet import wetting_ratio
from formulas.models import ProductLine

PLACE_KEYS = ("bright", "between", "cool")


@dataclass(frozen=True)
class LastToner:
    """What the last visit laid on this zone and how long ago, in washes."""

    parts: tuple[tuple[str, float], ...]
    minutes: float
    washes: float


@dataclass(frozen=True)
class ZoneInput:
    """A zone as read; plain numbers, see `engine.Zone`."""

    lifted_level: float
    undertone: float = 0.0
    white_percent: float = 0.0
    porosity: float = 0.0
    residual: LastToner | None = None


@dataclass(frozen=True)
class Suggestion:
    """What the choice screen shows of one zone: the limit, the reachable, three places."""

    data: dict[str, Any]

    def as_json(self) -> dict[str, Any]:
        """Return it all as plain data."""
        return self.data

    def curve(self, *, chosen: float | None = None, name: str = "warmth_aim") -> dict[str, Any]:
        """Return what `{% tradeoff_curve %}` draws."""
        return {
            "limit": self.data["limit"],
            "mixes": self.data["mixes"],
            "places": [
                {**place, "label": place_label(place["key"])} for place in self.data["places"]
            ],
            "chosen": chosen,
            "start": self.data["start"],
            "name": name,
        }


def place_label(key: str) -> str:
    """Return the name of a place on the trade-off."""
    return {
        "bright": _("Keep it bright"),
        "between": _("In between"),
        "cool": _("Coolest"),
        "own": _("Own place"),
    }[key]


def versions(line: ProductLine) -> dict[str, str]:
    """Return what a suggestion stands on: engine, line data and chart."""
    chart = _chart_version(line)
    return {
        "engine_version": engine.VERSION,
        "data_version": f"line {line.pk}.{line.data_version}, chart {chart}",
    }


def suggest(
    *,
    line: ProductLine,
    zone: ZoneInput,
    minutes: float | None = None,
    bowl_grams: float = 60.0,
) -> Suggestion:
    """Return limit, frontier and places for a zone, from what stands on the shelf.

    Raises
    ------
    ValueError
        If the stock fills no bowl of this line at all; the message says what is missing.
    """
    result = _search(line, zone, minutes, bowl_grams)
    found = engine.places(result)
    start = result.judge.start_lab
    damp = _damp_hex(start, result.bed.base_ks)
    places = [
        {"key": key, "warmth_left_percent": round(mix.warmth_left_percent, 2)}
        for key, mix in zip(PLACE_KEYS, (found.bright, found.between, found.cool), strict=True)
    ]
    return Suggestion(
        {
            **versions(line),
            "line": line.name,
            "zone": asdict(zone),
            "minutes": minutes or line.processing_minutes,
            "evaluated": result.evaluated,
            "start": {"lab": _rounded(start), "hex": lab_to_hex(start), "damp_hex": damp},
            "limit": [
                [round(float(w), 2), round(float(d), 3)]
                for w, d in zip(
                    result.curve.warmth_left_percent,
                    result.curve.levels_deeper_looks,
                    strict=True,
                )
            ],
            "mixes": [_mix(result, mix) for mix in _thinned(result.frontier, places)],
            "places": places,
        }
    )


def rank_for(
    *,
    line: ProductLine,
    zone: ZoneInput,
    warmth_aim: float,
    k: int = 5,
    minutes: float | None = None,
    bowl_grams: float = 60.0,
) -> list[dict[str, Any]]:
    """Return the short list for an aim, each mix with its reasons in words, as plain data."""
    result = _search(line, zone, minutes, bowl_grams)
    (ranked,) = result.rank([warmth_aim], k)
    return [
        {
            **_mix(result, one.candidate),
            "gap_levels": round(one.gap_levels, 2),
            "cost": None if one.cost is None else round(one.cost, 2),
            "bowls_in_stock": None
            if one.bowls_in_stock is None
            else round(one.bowls_in_stock, 1),
            "reasons": [wording.say(reason) for reason in one.reasons],
        }
        for one in ranked
    ]


def predict_mix(
    *,
    line: ProductLine,
    zone: ZoneInput,
    parts: Mapping[str, float],
    minutes: float | None = None,
    developer_ratio: float | None = None,
) -> dict[str, Any]:
    """Return what `parts` (by shade name) give on a zone, as plain data with words.

    Raises
    ------
    ValueError
        If a shade is not in the line or a number is out of range.
    """
    engine_line, _stock, _prices = _line(line)
    prediction = engine.predict(
        _zone(zone, engine_line),
        engine_line,
        parts,
        minutes=minutes,
        chart=chart_for(line),
        strengths=strengths_of(line),
        developer_ratio=developer_ratio,
    )
    return {
        **versions(line),
        "parts": [[name, float(part)] for name, part in parts.items()],
        "minutes": minutes or line.processing_minutes,
        "start_hex": prediction.start_hex,
        "start_damp_hex": prediction.start_damp_hex,
        "dry_hex": prediction.dry_hex,
        "damp_hex": prediction.damp_hex,
        "dry_lab": _rounded(prediction.dry_lab.value),
        "damp_lab": _rounded(prediction.damp_lab.value),
        **{
            name: {
                "value": round(getattr(prediction, name).value, 3),
                "low": round(getattr(prediction, name).low, 3),
                "high": round(getattr(prediction, name).high, 3),
            }
            for name in (
                "level",
                "warmth_left_percent",
                "levels_deeper_measured",
                "levels_deeper_looks",
                "damp_levels_deeper",
            )
        },
        "terms": [asdict(term) for term in prediction.terms],
        "sentences": [wording.say(sentence) for sentence in prediction.sentences],
    }


def washes_since(*, last: dt.datetime, now: dt.datetime, washes_per_week: float = 2.0) -> float:
    """Return how many washes lie between two moments, at two a week unless said otherwise."""
    return max((now - last).days, 0) / 7.0 * washes_per_week


def chart_for(line: ProductLine) -> engine.Chart:
    """Return the chart of the line's salon, one object per version of it."""
    return _chart(line.salon_id, _chart_version(line), _Aside(line))


def _chart_version(line: ProductLine) -> str:
    entries = selectors.chart_entries(salon=line.salon)
    if not entries:
        return "default"
    text = repr(sorted(e.pk for e in entries))
    return hashlib.sha256(text.encode()).hexdigest()[:10]


@dataclass(frozen=True)
class _Aside:
    """Carries rows past a cache: equal to any other, so that they are no part of its key."""

    value: Any = field(compare=False)


@lru_cache(maxsize=16)
def _chart(salon_id: int, version: str, line: _Aside) -> engine.Chart:
    return selectors.chart_of(salon=line.value.salon)


def _line(line: ProductLine) -> tuple[engine.Line, dict[str, float], dict[str, float]]:
    """Return the engine's line, the stock and the prices, by shade name."""
    shades = list(selectors.shades_in_stock(line=line))
    built = engine.Line(
        name=line.name,
        kind=line.kind,
        shades=tuple(
            engine.Shade(
                name=shade.name,
                level=None if shade.level is None else float(shade.level),
                tones=shade.tones,
                neutral=shade.neutral,
                reflectance=shade.reflectance,
            )
            for shade in shades
        ),
        developer_ratio=float(line.developer_ratio),
        processing_minutes=float(line.processing_minutes),
        developer_percent=float(line.developer_percent),
    )
    grams = {shade.name: float(getattr(shade, "grams", 0)) for shade in shades}
    stock = {name: max(weight, 0.0) for name, weight in grams.items()}
    prices = {shade.name: float(shade.price_per_gram) for shade in shades}
    return built, stock, prices


def strengths_of(line: ProductLine) -> dict[str, float]:
    """Return the strengths that the salon has learned, by shade name."""
    return {s.name: s.strength for s in line.shades.all() if s.strength != 1.0}


def _zone(zone: ZoneInput, line: engine.Line) -> engine.Zone:
    residual = None
    if zone.residual:
        known = {name: part for name, part in zone.residual.parts if name in line.names}
        if known:
            residual = engine.Residual(
                line=line,
                parts=known,
                minutes=zone.residual.minutes,
                washes=zone.residual.washes,
            )
    return engine.Zone(
        lifted_level=zone.lifted_level,
        undertone=zone.undertone,
        white_percent=zone.white_percent,
        porosity=zone.porosity,
        residual=residual,
    )


def _search(
    line: ProductLine, zone: ZoneInput, minutes: float | None, bowl_grams: float
) -> engine.SearchResult:
    built, stock, prices = _line(line)
    # Stock counts in steps of ten grams, so that a bowl drawn elsewhere does not empty the
    # cache; rounding down keeps every suggestion mixable.
    steps = tuple(sorted((name, int(grams // 10) * 10) for name, grams in stock.items()))
    return _cached_search(
        (line.pk, line.data_version, _chart_version(line), engine.VERSION),
        (zone, minutes, bowl_grams),
        steps,
        _Aside((line, built, prices)),
    )


@lru_cache(maxsize=24)
def _cached_search(
    key: tuple[Any, ...], how: tuple[Any, ...], stock: tuple[tuple[str, int], ...], rows: _Aside
) -> engine.SearchResult:
    line, built, prices = rows.value
    zone, minutes, bowl_grams = how
    return engine.search(
        _zone(zone, built),
        built,
        minutes=minutes,
        grams_in_stock={name: float(grams) for name, grams in stock},
        bowl_grams=bowl_grams,
        price_per_gram=prices,
        chart=chart_for(line),
        strengths=strengths_of(line),
    )


def _thinned(
    frontier: Sequence[engine.Candidate], places: list[dict[str, Any]]
) -> list[engine.Candidate]:
    """Return at most about sixty of the frontier, with the places among them."""
    shown = [mix for mix in frontier if mix.warmth_left_percent >= -25.0] or list(frontier)
    step = max(1, len(shown) // 60)
    wanted = {place["warmth_left_percent"] for place in places}
    return [
        mix
        for n, mix in enumerate(shown)
        if n % step == 0 or round(mix.warmth_left_percent, 2) in wanted
    ]


def _mix(result: engine.SearchResult, mix: engine.Candidate) -> dict[str, Any]:
    warmth, deeper = mix.warmth_left_percent, mix.levels_deeper_looks
    ks = to_ks_of(result, mix)
    return {
        "warmth_left_percent": round(warmth, 2),
        "levels_deeper_looks": round(deeper, 3),
        "levels_deeper_measured": round(mix.levels_deeper_measured, 3),
        "hex": mix.hex,
        "damp_hex": _damp_hex(mix.lab, ks),
        "label": mix_in_words(mix.parts),
        "parts": [list(part) for part in mix.parts],
        "cast": round(mix.cast, 2),
    }


def to_ks_of(result: engine.SearchResult, mix: engine.Candidate) -> Any:
    """Return K/S (31,) after a mix."""
    return result.bed.mixture_ks(result.bed.fractions(dict(mix.parts)))


def mix_in_words(parts: Sequence[tuple[str, float]]) -> str:
    """Return "2 parts 8 natural, 1 part 8 violet-blue"."""
    words = []
    for name, part in parts:
        count = f"{part:g}"
        words.append(
            _("%(count)s part %(shade)s") % {"count": count, "shade": name}
            if part == 1
            else _("%(count)s parts %(shade)s") % {"count": count, "shade": name}
        )
    return ", ".join(words)


def _damp_hex(lab: Any, ks: Any) -> str:
    return lab_to_hex(reflectance_to_lab(to_reflectance(ks * float(wetting_ratio(lab[0])))))


def _rounded(lab: Any) -> list[float]:
    return [round(float(value), 2) for value in lab]
