"""What a client's earlier tonings mean for the next mix on the same zone, as plain data."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from formulas import engine, engine_inputs, engine_sentences
from formulas.engine_inputs import Ground, LastToner, ZoneInput
from formulas.models import ProductLine

# Toner of visits so many washes ago is gone (model assumption: over six half-lives).
MOST_WASHES = 40.0


@dataclass(frozen=True)
class PastToning:
    """One zone as it was read, toned and, where noted, seen; `washes_since` until the next.

    `keeps_toner` is False for regrowth: it is new hair each time.
    """

    zone: ZoneInput
    parts: tuple[tuple[str, float], ...]
    minutes: float
    washes_since: float
    level: float | None = None
    warmth_left_percent: float | None = None
    keeps_toner: bool = True


@dataclass(frozen=True)
class Earlier:
    """What is left of earlier toners, what this hair takes, and the engine's sentences."""

    residual: LastToner | None = None
    take: float = 1.0
    take_doubt: float | None = None
    sentences: tuple[engine.Sentence, ...] = ()

    @property
    def texts(self) -> list[str]:
        """The sentences in the reader's language."""
        return [engine_sentences.translated(sentence) for sentence in self.sentences]


def earlier(
    *, line: ProductLine, tonings: Mapping[str, tuple[PastToning, ...]]
) -> dict[str, Earlier]:
    """Return by zone what tonings with this line mean, the oldest first; two queries."""
    if not tonings:
        return {}
    ground = engine_inputs.ground_of(line)
    names = set(ground.whole.names) if ground.whole else set()
    found = {}
    for zone, row in tonings.items():
        known = tuple(
            toning for toning in row if {name for name, _part in toning.parts} <= names
        )
        if known:
            found[zone] = _earlier(ground, known)
    return found


@lru_cache(maxsize=256)
def _earlier(ground: Ground, tonings: tuple[PastToning, ...]) -> Earlier:
    if ground.whole is None:
        return Earlier()
    found = engine.repeat(
        [_visit(toning) for toning in tonings], ground.whole, chart=ground.chart
    )
    has_results = found.results > 0
    return Earlier(
        _left(tonings),
        round(found.take.value, 3) if has_results else 1.0,
        round(found.take_doubt, 3) if has_results else None,
        found.sentences,
    )


def _visit(toning: PastToning) -> engine.Visit:
    zone = toning.zone
    return engine.Visit(
        engine.Zone(
            zone.lifted_level,
            zone.undertone,
            zone.white_percent,
            zone.porosity,
            natural_level=zone.natural_level,
        ),
        dict(toning.parts),
        toning.minutes,
        washes_since=toning.washes_since if toning.keeps_toner else 1000.0,
        level=toning.level,
        warmth_left_percent=toning.warmth_left_percent,
    )


def _left(tonings: tuple[PastToning, ...]) -> LastToner | None:
    """Return the last toner with those before it, each with the washes since."""
    layers: list[LastToner] = []
    washes = 0.0
    for toning in reversed(tonings):
        washes += toning.washes_since
        if not toning.keeps_toner or washes > MOST_WASHES:
            break
        layers.append(LastToner(toning.parts, toning.minutes, washes))
    if not layers:
        return None
    last = layers[0]
    return LastToner(last.parts, last.minutes, last.washes, tuple(layers[:0:-1]))
