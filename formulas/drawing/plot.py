"""The data of the trade-off plot, read from plain JSON-ready values, and its scales.

Warmths are in percent of the warmth left, depths in levels deeper than the hair looks now.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import NotRequired, TypedDict

LEFT, RIGHT, TOP, BOTTOM = 62.0, 604.0, 58.0, 346.0
WIDTH, HEIGHT = 620.0, 402.0
MOST_MIXES = 72
ASHEST = -20.0  # cooler than this is far past neutral, and would squeeze the useful part


class PlainMix(TypedDict):
    """A mix as plain values; `sentence` is the caller's own, instead of the built one."""

    warmth_left_percent: float
    levels_deeper_looks: float
    hex: str
    damp_hex: NotRequired[str]
    label: NotRequired[str]
    why: NotRequired[str]
    cost: NotRequired[str]
    sentence: NotRequired[str]
    words: NotRequired[str]
    in_full: NotRequired[str]
    warmth_low: NotRequired[float | None]
    warmth_high: NotRequired[float | None]
    deeper_low: NotRequired[float | None]
    deeper_high: NotRequired[float | None]


class PlainPlace(TypedDict):
    """A named place on the mixes as plain values."""

    key: str
    label: str
    warmth_left_percent: float


class PlainStart(TypedDict, total=False):
    """The hair as it is now."""

    hex: str
    damp_hex: str
    warmth_percent: float
    shows_little_warmth: bool


class LastMark(TypedDict):
    """Last time's place, and where it came out."""

    warmth: float
    deeper: float
    seen_warmth: NotRequired[float]
    seen_deeper: NotRequired[float]


class PlainCurve(TypedDict, total=False):
    """Everything drawn, as plain values; all of it may be missing.

    `limit` is the line that no mix can cross as [warmth, depth], `limit_band` where it may lie
    as [warmth, low, high]; `name` is the form field, "warmth_aim" if not given.
    """

    limit: Sequence[Sequence[float]]
    limit_band: Sequence[Sequence[float]]
    mixes: Sequence[PlainMix]
    places: Sequence[PlainPlace]
    chosen: float | None
    start: PlainStart
    name: str
    last: LastMark | None


@dataclass(frozen=True)
class Mix:
    """One mix that stock can reach, as the plot needs it."""

    warmth: float
    deeper: float
    hex: str
    damp_hex: str
    label: str = ""
    why: str = ""
    cost: str = ""
    sentence: str = ""
    words: str = ""
    in_full: str = ""
    warmth_low: float | None = None
    warmth_high: float | None = None
    deeper_low: float | None = None
    deeper_high: float | None = None


@dataclass(frozen=True)
class Place:
    """A named place on the frontier."""

    key: str
    label: str
    warmth: float


@dataclass(frozen=True)
class Curve:
    """Everything drawn: warm and light at the start, cool and deep at the end."""

    limit: tuple[tuple[float, float], ...]
    mixes: tuple[Mix, ...]
    places: tuple[Place, ...]
    chosen: float | None
    start: PlainStart
    name: str = "warmth_aim"
    last: LastMark | None = None
    limit_band: tuple[tuple[float, float, float], ...] = ()
    coolest: float = field(init=False)
    warmest: float = field(init=False)
    deepest: float = field(init=False)

    def __post_init__(self) -> None:
        warmths = [m.warmth for m in self.mixes] + [w for w, _d in self.limit] or [0.0]
        deepers = [m.deeper_high or m.deeper for m in self.mixes]
        deepers += [d for w, d in self.limit if w >= min(warmths)]
        lowest = min([m.warmth for m in self.mixes] or warmths)
        warmest = 100.0
        if not self.shows_percent:
            most = max([self.start_percent, *(m.warmth for m in self.mixes)])
            warmest = 10.0 * math.ceil(most / 10.0)
            lowest = min(lowest, warmest - 20.0)
        object.__setattr__(self, "warmest", warmest)
        object.__setattr__(self, "coolest", 10.0 * math.floor(min(lowest, 10.0) / 10.0))
        object.__setattr__(self, "deepest", max(2.0, math.ceil(2 * max(deepers or [2])) / 2))

    @property
    def shows_percent(self) -> bool:
        """Whether a percentage says something: not of hair that shows little warmth."""
        return not self.start.get("shows_little_warmth")

    @property
    def start_percent(self) -> float:
        """The warmth before toning; 100 of hair whose warmth shows."""
        return float(self.start.get("warmth_percent", 100.0)) if self.start else 100.0

    def x(self, warmth: float) -> float:
        """Return the place across: the warmest at the left, whatever the language."""
        share = (self.warmest - warmth) / (self.warmest - self.coolest)
        return LEFT + share * (RIGHT - LEFT)

    def y(self, deeper: float) -> float:
        """Return the place down: the deeper the hair looks, the lower."""
        return TOP + deeper / self.deepest * (BOTTOM - TOP)

    def mix_at(self, warmth: float) -> Mix | None:
        """Return the mix nearest to `warmth`, the lighter of two as near."""
        return min(self.mixes, key=lambda m: (abs(m.warmth - warmth), m.deeper), default=None)


def read_curve(curve: PlainCurve) -> Curve:
    """Return the curve of plain values, sorted from warm to cool and thinned to be drawn."""
    known = [_mix(plain) for plain in curve.get("mixes", ())]
    start = curve.get("start") or PlainStart()
    # Hair that shows little warmth begins near neutral: its useful part lies further on.
    ashest = -math.inf if start.get("shows_little_warmth") else ASHEST
    mixes = sorted((m for m in known if m.warmth >= ashest), key=lambda m: -m.warmth)
    places = tuple(
        Place(p["key"], str(p["label"]), float(p["warmth_left_percent"]))
        for p in curve.get("places", ())
    )
    chosen = curve.get("chosen")
    keep = [*(p.warmth for p in places), *([] if chosen is None else [float(chosen)])]
    return Curve(
        limit=tuple(
            sorted(
                ((float(w), float(d)) for w, d in curve.get("limit", ())), key=lambda p: -p[0]
            )
        ),
        mixes=thinned(mixes, keep=keep),
        places=places,
        chosen=None if chosen is None else float(chosen),
        start=start,
        name=curve.get("name", "warmth_aim"),
        last=curve.get("last"),
        limit_band=tuple(
            (float(w), float(low), float(high)) for w, low, high in curve.get("limit_band", ())
        ),
    )


def thinned(mixes: Sequence[Mix], *, keep: Sequence[float]) -> tuple[Mix, ...]:
    """Return at most about `MOST_MIXES`, evenly by warmth; those nearest to `keep` stay."""
    if len(mixes) <= MOST_MIXES:
        return tuple(mixes)
    span = mixes[0].warmth - mixes[-1].warmth
    wanted = [mixes[0].warmth - span * k / (MOST_MIXES - 1) for k in range(MOST_MIXES)]
    stay = {
        min(range(len(mixes)), key=lambda i: abs(mixes[i].warmth - w)) for w in [*wanted, *keep]
    }
    return tuple(mixes[i] for i in sorted(stay))


def _mix(plain: PlainMix) -> Mix:
    return Mix(
        warmth=float(plain["warmth_left_percent"]),
        deeper=float(plain["levels_deeper_looks"]),
        hex=plain["hex"],
        damp_hex=plain.get("damp_hex") or plain["hex"],
        label=plain.get("label", ""),
        why=plain.get("why", ""),
        cost=plain.get("cost", ""),
        sentence=plain.get("sentence", ""),
        words=plain.get("words", ""),
        in_full=plain.get("in_full", ""),
        warmth_low=plain.get("warmth_low"),
        warmth_high=plain.get("warmth_high"),
        deeper_low=plain.get("deeper_low"),
        deeper_high=plain.get("deeper_high"),
    )
