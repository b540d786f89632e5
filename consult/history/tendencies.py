"""Whose results are off: a line's, a stylist's, or everyone's, with the doubt of each.

A linear mixed model: the whole salon, lines and stylists beside clients, whose hair differs
and whose results hang together (random), and the scatter of one result. What is returned for a
line is its mean over stylists who count alike, so a warm line does not make its stylist look
warm. Pure numbers: no database, no clock, no engine.
"""

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass

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


@dataclass(frozen=True)
class Row:
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
    lines = sorted({row.line for row in rows})
    stylists = sorted({row.stylist for row in rows})
    names: list[tuple[str, int]] = [("line", pk) for pk in lines]
    names += [("stylist", pk) for pk in stylists]
    place = {name: n + 1 for n, name in enumerate(names)}
    design = np.zeros((len(rows), len(names) + 1))
    design[:, 0] = 1.0
    for n, row in enumerate(rows):
        design[n, place["line", row.line]] = 1.0
        design[n, place["stylist", row.stylist]] = 1.0
    errors = np.array([row.error for row in rows])
    clients = [row.client for row in rows]
    mean, cover = _fitted(design, errors, clients, number=number, sigma=sigma)

    def weights(name: tuple[str, int] | None) -> np.ndarray:
        """Return what is summed: the salon, this group, the others' kind in equal shares."""
        found = np.zeros(len(names) + 1)
        found[0] = 1.0
        for kind, members in (("line", lines), ("stylist", stylists)):
            if name is not None and name[0] == kind:
                found[place[name]] = 1.0
            else:
                for pk in members:
                    found[place[kind, pk]] = 1.0 / len(members)
        return found

    def against(name: tuple[str, int], others: Sequence[int]) -> tuple[float, float]:
        """Return how a group differs from the rest of its kind, and the doubt of that."""
        found = np.zeros(len(mean))
        if others:
            found[place[name]] = 1.0
        for pk in others:
            found[place[name[0], pk]] = -1.0 / len(others)
        return float(found @ mean), float(np.sqrt(found @ cover @ found))

    def tendency(
        name: tuple[str, int] | None, members: Sequence[Row], others: Sequence[int]
    ) -> Tendency:
        own = weights(name)
        value, doubt = float(own @ mean), float(np.sqrt(own @ cover @ own))
        clients = len({row.client for row in members})
        is_off = (
            abs(value) >= WORTH[number]
            and abs(value) > CLEAR * doubt
            and len(members) >= FEWEST_RESULTS
            and clients >= FEWEST_CLIENTS
        )
        if is_off and name is not None:
            difference, unsure = against(name, others)
            is_off = difference * value > 0 and abs(difference) > CLEAR * unsure
        return Tendency(value, doubt, len(members), clients, is_off)

    return Tendencies(
        tendency(None, rows, ()),
        {
            pk: tendency(
                ("line", pk), [r for r in rows if r.line == pk], [k for k in lines if k != pk]
            )
            for pk in lines
        },
        {
            pk: tendency(
                ("stylist", pk),
                [r for r in rows if r.stylist == pk],
                [k for k in stylists if k != pk],
            )
            for pk in stylists
        },
    )


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
