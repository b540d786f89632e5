"""Whose results are off: a line's, a stylist's, or everyone's, with the doubt of each.

A linear mixed model: the whole salon, lines and stylists beside clients, whose hair differs
and whose results hang together (random), and the scatter of one result. What is returned for a
line is its mean over stylists who count alike, so a warm line does not make its stylist look
warm. Pure numbers: no database, no clock, no engine.
"""

from collections import defaultdict
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

# How far clients differ from the prediction as a rule, and how far lines, stylists and salons
# may: levels, and points of warmth (model assumptions; the second are wide and shrink little).
CLIENTS = {"depth": 0.2, "warmth": 6.0}
GROUPS = {"depth": 0.6, "warmth": 18.0}
# A mean so many standard deviations off is no chance, be a dozen of them watched.
CLEAR = 3.0
# ... and less than this is not worth anyone's time: half a step of the eye.
WORTH = {"depth": 0.25, "warmth": 6.0}
# Fewer results or clients tell of their clients and not of a line or a stylist.
FEWEST_RESULTS, FEWEST_CLIENTS = 6, 3


class Row(NamedTuple):
    """One result: how far off it was, and whose it is."""

    error: float
    client: int
    line: int
    stylist: int


@dataclass(frozen=True)
class Tendency:
    """How far off a line's, a stylist's or everyone's results are in the mean."""

    mean: float
    doubt: float
    results: int
    clients: int
    is_off: bool

    @property
    def low(self) -> float:
        """19 in 20 lie above it."""
        return self.mean - 1.96 * self.doubt

    @property
    def high(self) -> float:
        """19 in 20 lie below it."""
        return self.mean + 1.96 * self.doubt


@dataclass(frozen=True)
class Tendencies:
    """Of one number: everyone's, by line and by stylist (their ids)."""

    everyone: Tendency | None
    lines: Mapping[int, Tendency]
    stylists: Mapping[int, Tendency]


def tendencies(rows: Sequence[Row], *, number: str, sigma: float) -> Tendencies:
    """Return how far off results are, and whose.

    Parameters
    ----------
    rows : sequence of Row
    number : str
        "depth" or "warmth".
    sigma : float
        Standard deviation of one result of one client, in the number's own unit.
    """
    if not rows:
        return Tendencies(None, {}, {})
    fit = _Fit.of(rows, number=number, sigma=sigma)
    of_line: dict[int, list[Row]] = defaultdict(list)
    of_stylist: dict[int, list[Row]] = defaultdict(list)
    for row in rows:
        of_line[row.line].append(row)
        of_stylist[row.stylist].append(row)
    return Tendencies(
        fit.tendency(rows),
        {pk: fit.tendency(of_line[pk], ("line", pk)) for pk in fit.lines},
        {pk: fit.tendency(of_stylist[pk], ("stylist", pk)) for pk in fit.stylists},
    )


# A line or a stylist, by id.
_Name = tuple[str, int]


@dataclass(frozen=True)
class _Fit:
    """The fitted effects with their covariance: everyone's, then each line's and stylist's."""

    number: str
    lines: Sequence[int]
    stylists: Sequence[int]
    mean: np.ndarray
    cover: np.ndarray

    @classmethod
    def of(cls, rows: Sequence[Row], *, number: str, sigma: float) -> "_Fit":
        """Return the fit of some results."""
        lines = sorted({row.line for row in rows})
        stylists = sorted({row.stylist for row in rows})
        columns = [("line", pk) for pk in lines] + [("stylist", pk) for pk in stylists]
        place = {name: n for n, name in enumerate(columns, start=1)}
        design = np.zeros((len(rows), len(columns) + 1))
        design[:, 0] = 1.0
        for n, row in enumerate(rows):
            design[n, place["line", row.line]] = 1.0
            design[n, place["stylist", row.stylist]] = 1.0
        errors = np.array([row.error for row in rows])
        clients = [row.client for row in rows]
        mean, cover = _fitted(design, errors, clients, number=number, sigma=sigma)
        return cls(number, lines, stylists, mean, cover)

    def tendency(self, members: Sequence[Row], name: _Name | None = None) -> Tendency:
        """Return the tendency of a group by its results, of everyone's without a name."""
        value, doubt = self._sum(self._weights(name))
        clients = len({row.client for row in members})
        is_off = (
            abs(value) >= WORTH[self.number]
            and abs(value) > CLEAR * doubt
            and len(members) >= FEWEST_RESULTS
            and clients >= FEWEST_CLIENTS
        )
        if is_off and name is not None:
            difference, unsure = self._sum(self._against(name))
            is_off = difference * value > 0 and abs(difference) > CLEAR * unsure
        return Tendency(value, doubt, len(members), clients, is_off)

    def _sum(self, weights: np.ndarray) -> tuple[float, float]:
        """Return a weighted sum of the effects, and the doubt of it."""
        return float(weights @ self.mean), float(np.sqrt(weights @ self.cover @ weights))

    def _weights(self, name: _Name | None) -> np.ndarray:
        """Return what is summed: the salon, this group, the others' kind in equal shares."""
        found = np.zeros(len(self.mean))
        found[0] = 1.0
        for kind in ("line", "stylist"):
            if name is not None and name[0] == kind:
                found[self._places(kind, [name[1]])] = 1.0
            else:
                every = self._of_kind(kind)
                found[self._places(kind, every)] = 1.0 / len(every)
        return found

    def _against(self, name: _Name) -> np.ndarray:
        """Return how a group is set against the rest of its kind; nothing where it is alone."""
        found = np.zeros(len(self.mean))
        kind, own = name
        others = [pk for pk in self._of_kind(kind) if pk != own]
        if others:
            found[self._places(kind, [own])] = 1.0
            found[self._places(kind, others)] = -1.0 / len(others)
        return found

    def _of_kind(self, kind: str) -> Sequence[int]:
        return self.lines if kind == "line" else self.stylists

    def _places(self, kind: str, pks: Sequence[int]) -> list[int]:
        first = 1 if kind == "line" else 1 + len(self.lines)
        return [first + self._of_kind(kind).index(pk) for pk in pks]


def _fitted(
    design: np.ndarray,
    errors: np.ndarray,
    clients: Sequence[Hashable],
    *,
    number: str,
    sigma: float,
) -> tuple[np.ndarray, np.ndarray]:
    """Return mean and covariance of the effects, the clients' own taken out.

    Within a client V = sigma^2 I + between^2 1 1', so
    V^-1 = (I - k 1 1') / sigma^2 with k = between^2 / (sigma^2 + n between^2).
    """
    size, between = design.shape[1], CLIENTS[number]
    # Sums over each client's results: of the design, of the errors, and of one.
    place = {client: n for n, client in enumerate(dict.fromkeys(clients))}
    own = np.zeros((len(place), size + 2))
    np.add.at(
        own,
        [place[client] for client in clients],
        np.column_stack([design, errors, np.ones(len(errors))]),
    )
    total, missed, count = own[:, :size], own[:, size], own[:, size + 1]
    share = between**2 / (sigma**2 + count * between**2)
    shared = total.T * share
    precision = (
        np.eye(size) / GROUPS[number] ** 2 + (design.T @ design - shared @ total) / sigma**2
    )
    pull = (design.T @ errors - shared @ missed) / sigma**2
    cover = np.linalg.inv(precision)
    return cover @ pull, cover
