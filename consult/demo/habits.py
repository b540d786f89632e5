"""What the demo's results show beyond chance, so that the owner's page has something to say.

All of it is invented: a stylist who leaves every toner on too long, a line that runs warm, a
client whose porous hair takes more at each visit.
"""

from dataclasses import dataclass

from consult.demo.cast import Guest

_LEAVES_IT_ON = "oluchi"
_RUNS_WARM = 1  # the place of the line among the salon's
_BUILDS_UP = "Дарина Коваленко"
_A_VISIT = 0.15  # levels deeper with each visit


@dataclass(frozen=True)
class Off:
    """How far results lie from their predictions: lighter and warmer are above 0."""

    levels: float = 0.0
    warmth_percent: float = 0.0


AS_PREDICTED = Off()


def off_of(guest: Guest, *, stylist: str, number: int) -> Off:
    """Return how far a visit's result is off; `number` counts the client's visits from 0."""
    levels = -0.4 * (stylist == _LEAVES_IT_ON)
    if guest.name == _BUILDS_UP:
        levels -= _A_VISIT * number
    return Off(levels, 14.0 * (guest.line == _RUNS_WARM))
