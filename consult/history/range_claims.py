"""How many results lay inside the ranges that predictions claimed."""

from collections.abc import Iterable
from dataclasses import dataclass

CLAIMS = ((50, 0.674), (80, 1.282), (95, 1.96))


@dataclass(frozen=True)
class Claim:
    """How many results lay inside ranges that claim to hold so many of a hundred."""

    percent: int
    inside: int
    of: int

    @property
    def outside(self) -> int:
        """How many did not."""
        return self.of - self.inside

    @property
    def seen_percent(self) -> float:
        """The share that did."""
        return 100.0 * self.inside / self.of if self.of else 0.0


def claims_of(distances: Iterable[float]) -> list[Claim]:
    """Return how many of these distances, in their own doubt, each claim holds."""
    every = list(distances)
    return [
        Claim(percent, sum(distance <= limit for distance in every), len(every))
        for percent, limit in CLAIMS
    ]
