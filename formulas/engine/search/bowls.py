"""Which zones can share a bowl: the fewest bowls that give every zone one of its mixes."""

from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from formulas.engine.light.grid import Array, Rows
from formulas.engine.search.search import SearchResult

_BITS = 14  # of one shade with its parts: 1024 shades, 16 parts


def mix_codes(result: SearchResult, rows: Rows, names: Sequence[str]) -> Rows:
    """Return one number per mix (n,), the same for the same mix in every search of a line.

    Parameters
    ----------
    result : SearchResult
    rows : (n,) int array
    names : sequence of str
        All shades of the line, in an order of its own.
    """
    numbers = {name: n for n, name in enumerate(names)}
    own = np.array([numbers[name] for name in result.bed.names], dtype=np.int64)
    shades, parts = result.space.decode(rows)
    pairs = np.where(shades >= 0, (own[shades] << 4) + parts, 0)
    pairs.sort(axis=1)
    codes = np.zeros(len(rows), dtype=np.int64)
    for column in pairs.T:
        codes = (codes << _BITS) + column
    return codes


def fiddly(codes: Rows) -> Rows:
    """Return how much work each mix (n,) is: its parts, and two for each shade."""
    work = np.zeros(len(codes), dtype=np.int64)
    for place in range(4):
        parts = codes >> (place * _BITS) & 15
        work += parts + 2 * (parts > 0)
    return work


def fewest_bowls(
    choices: Mapping[str, tuple[Rows, Array]],
) -> list[tuple[tuple[str, ...], Rows]]:
    """Return groups of zones that share a bowl, each with the mixes that suit all of it.

    Parameters
    ----------
    choices : mapping of zone name to (codes, differences)
        The mixes that suit a zone (n,), rising, and how far each is from its colour (n,).

    Returns
    -------
    groups : list of (zone names, codes)
        As few as can be; of as few the one whose worst zone is nearest to its colour, then
        the one that keeps zones together in the order in which they are given.
    """
    names = list(choices)
    common: dict[tuple[str, ...], Rows] = {}
    for group in _groups(names):
        codes = choices[group[0]][0]
        for name in group[1:]:
            codes = np.intersect1d(codes, choices[name][0], assume_unique=True)
        common[group] = codes
    splits = [split for split in _splits(names) if all(len(common[group]) for group in split)]

    def worst(split: list[tuple[str, ...]]) -> float:
        return max(float(off(choices, group, common[group]).min()) for group in split)

    fewest = min(len(split) for split in splits)
    best = min(
        (split for split in splits if len(split) == fewest),
        key=lambda split: round(worst(split), 6),
    )
    return [(group, common[group]) for group in best]


def off(choices: Mapping[str, tuple[Rows, Array]], group: Sequence[str], codes: Rows) -> Array:
    """Return how far mixes (n,) are from the colour of the zone that they suit least."""
    each = [choices[name][1][np.searchsorted(choices[name][0], codes)] for name in group]
    return np.asarray(np.max(each, axis=0))


def _groups(names: Sequence[str]) -> Iterator[tuple[str, ...]]:
    for bits in range(1, 1 << len(names)):
        yield tuple(name for n, name in enumerate(names) if bits >> n & 1)


def _splits(names: Sequence[str]) -> Iterator[list[tuple[str, ...]]]:
    """Yield every way to divide names into groups."""
    if not names:
        yield []
        return
    first, rest = names[0], names[1:]
    for split in _splits(rest):
        for n, group in enumerate(split):
            yield [*split[:n], (first, *group), *split[n + 1 :]]
        yield [(first,), *split]
