"""What came out, as an eye compares it with what was predicted."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Look:
    """What an eye sees beside the predicted strand: levels deeper, points warmer."""

    deeper: float
    warmer: float
