"""The shapes of the engine's results as rows keep them: JSON that is read back for years.

A key that an early release did not write yet is `NotRequired`. No key is renamed or dropped:
old rows, and the snapshots that clients signed, hold them.
"""

from collections.abc import Mapping
from typing import NotRequired, TypedDict

# Shades by name with their parts. JSON gives a pair back as a list.
Parts = list[tuple[str, float]]


class Range(TypedDict):
    """A number with the range that it lies in."""

    value: float
    low: float
    high: float


class StoredSentence(TypedDict):
    """A sentence as code and values: its words are made when it is shown."""

    code: str
    values: Mapping[str, float | str]


class StoredToner(TypedDict):
    """See `engine_inputs.LastToner`."""

    parts: tuple[tuple[str, float], ...]
    minutes: float
    washes: float
    earlier: NotRequired[tuple["StoredToner", ...]]


class StoredZone(TypedDict):
    """See `engine_inputs.ZoneInput`."""

    lifted_level: float
    undertone: float
    white_percent: float
    porosity: float
    residual: StoredToner | None
    take: NotRequired[float]
    take_doubt: NotRequired[float | None]
    natural_level: NotRequired[float | None]


class StoredDoubts(TypedDict):
    """What is not known of a line, as the line keeps it; see `engine.Doubts`. Shades by id."""

    line: float
    take: float
    depth_factor: float
    warmth_factor: float
    shades: Mapping[str, float]


class StoredTerm(TypedDict):
    """See `engine.prediction.terms.Term`."""

    shade: str
    part: str
    warmth_percent: float
    levels_deeper: float


class WarmthLeft(TypedDict):
    """What a prediction says of the warmth. [%]"""

    warmth_left_percent: Range
    start_warmth_percent: NotRequired[float]
    shows_little_warmth: NotRequired[bool]


class Outlook(WarmthLeft):
    """What a statement tells of a prediction: warmth [%], depth [levels], lean [a*b*]."""

    level: Range
    levels_deeper_looks: Range
    damp_levels_deeper: Range
    cast: NotRequired[float]


class Prediction(Outlook):
    """What a mix gives on a zone, with all its inputs."""

    engine_version: str
    data_version: str
    zone: StoredZone
    parts: Parts
    label: str
    minutes: float
    start_hex: str
    start_damp_hex: str
    dry_hex: str
    damp_hex: str
    start_lab: list[float]
    dry_lab: list[float]
    damp_lab: list[float]
    levels_deeper_measured: Range
    terms: list[StoredTerm]
    sentences: list[StoredSentence]
    # Of a result: the colour of the strand that was seen.
    seen_hex: NotRequired[str]
    # Of a result: the steps of the strands that it was held against.
    read_in: NotRequired["ReadIn"]


class ReadIn(TypedDict):
    """From one strand to the next: levels of depth, points of warmth."""

    depth: float
    warmth: float


class PlainMix(TypedDict):
    """A mix as the choice shows it, whether the frontier has it or not."""

    parts: Parts
    label: str
    warmth_left_percent: float
    levels_deeper_looks: float
    hex: str
    damp_hex: str
    # Of a place of the whole head: its difference from the whole [CIEDE2000], the levels that
    # it is deeper for the whole's sake, the level that it looks like.
    difference: NotRequired[float]
    deeper_for_the_whole: NotRequired[float]
    looks_level: NotRequired[float]


class Mix(PlainMix):
    """A mix of the frontier, with its ranges."""

    warmth_low: float
    warmth_high: float
    deeper_low: float
    deeper_high: float
    levels_deeper_measured: float
    cast: float
    why: str
    practice_costs_levels: float
    lab: NotRequired[list[float]]


class Start(TypedDict):
    """The hair before toning."""

    lab: list[float]
    hex: str
    damp_hex: str
    warmth_percent: float
    shows_little_warmth: bool
    looks_level: float


class PlaceMark(TypedDict):
    """Where on the frontier a named place is. [%]"""

    key: str
    warmth_left_percent: float
