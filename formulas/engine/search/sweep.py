"""The hot path: every mix of up to three shades, in single precision.

K/S is additive, so for each pattern of parts the sums over pairs are laid out once, and a
block "first shade + all later pairs" is one broadcast addition into a buffer that stays in
cache. The root of Kubelka and Munk and the product with the weights follow in the same
buffers: no memory is taken in the loop.
"""

from collections.abc import Iterator

import numpy as np

from formulas.engine.hair.reading import FastReader
from formulas.engine.light.grid import BANDS, Array, Flags, Single, weights, white
from formulas.engine.toner.deposit import Bed
from formulas.engine.toner.mixes import MixSpace, Pattern

BLOCK_ROWS = 4096
_PADDING = -BANDS % 16
_TILE_ROWS = 16


def sweep(
    bed: Bed, space: MixSpace, reader: FastReader, share: Array | None = None
) -> tuple[Single, Single]:
    """Return warmth left (%) and L** of every mix, (space.size,) each, single precision.

    Parameters
    ----------
    bed : Bed
    space : MixSpace
        Of up to three shades.
    reader : FastReader
        For at least `most_rows(space.count)` rows.
    share : (n,) float array, optional
        Stock of each shade as a share of a bowl's colour: L** is -inf where a mix asks for
        more.
    """
    # m = K/S + 1; R = 1 / (m + sqrt(m^2 - 1)). One band of weight 0 fills rows up to 32.
    # Each kind of fibre is mixed by itself; what they send back adds up by their shares.
    fibres = [_Fibre(bed, kind) for kind in range(len(bed.shares))]
    most = most_rows(space.count)
    root = np.empty((most, BANDS + _PADDING), np.float32)
    product = np.empty((most, 3), np.float32)
    more = np.empty((most, 3), np.float32)
    xyz = np.empty((3, most), np.float32)
    warmth = np.empty(space.size, np.float32)
    lightness = np.empty(space.size, np.float32)
    one = np.float32(1.0)
    for pattern in space.patterns:
        for blocks in zip(*(fibre.blocks(space, pattern) for fibre in fibres), strict=True):
            rows, n = blocks[0][0], len(blocks[0][1])
            r = root[:n]
            for kind, (fibre, (_, mixed)) in enumerate(zip(fibres, blocks, strict=True)):
                np.multiply(mixed, mixed, out=r)
                np.subtract(r, one, out=r)
                np.sqrt(r, out=r)
                np.add(r, mixed, out=r)
                np.divide(one, r, out=r)
                np.matmul(r, fibre.projection, out=(more if kind else product)[:n])
                if kind:
                    product[:n] += more[:n]
            xyz[:, :n] = product[:n].T
            here = slice(pattern.start + rows.start, pattern.start + rows.stop)
            reader.read(xyz[:, :n], warmth[here], lightness[here])
        if share is not None:
            mine = lightness[pattern.start : pattern.start + pattern.rows]
            mine[_too_little(space, pattern, share)] = -np.inf
    return warmth, lightness


class _Fibre:
    """One kind of fibre: its K/S + 1, what each shade adds to it, and its share of XYZ."""

    def __init__(self, bed: Bed, kind: int) -> None:
        loads = bed.uptake[kind] * bed.loads
        seen = bed.shares[kind] * weights() / white()
        self.loads = np.pad(loads, ((0, 0), (0, _PADDING))).astype(np.float32)
        self.base = (np.pad(bed.base_ks[kind], (0, _PADDING)) + 1.0).astype(np.float32)
        self.projection = np.pad(seen, ((0, _PADDING), (0, 0))).astype(np.float32)

    def blocks(self, space: MixSpace, pattern: Pattern) -> Iterator[tuple[slice, Single]]:
        """Yield (row slice within the pattern, K/S + 1 of those rows)."""
        scaled = [np.float32(part / sum(pattern.parts)) * self.loads for part in pattern.parts]
        return _blocks(space, pattern, scaled, self.base)


def most_rows(count: int) -> int:
    """Return the most rows that one block of `count` shades can hold."""
    return BLOCK_ROWS + count * (count - 1) // 2


def _blocks(
    space: MixSpace, pattern: Pattern, scaled: list[Single], base: Single
) -> Iterator[tuple[slice, Single]]:
    """Yield (row slice within the pattern, K/S + 1 of those rows)."""
    if len(pattern.parts) == 1:
        yield slice(0, pattern.rows), scaled[0] + base
        return
    pairs = scaled[-2].take(space.first, axis=0)
    pairs += scaled[-1].take(space.second, axis=0)
    if len(pattern.parts) == 2:
        pairs += base
        for at in range(0, pattern.rows, BLOCK_ROWS):
            rows = slice(at, min(at + BLOCK_ROWS, pattern.rows))
            yield rows, pairs[rows]
        return
    # Heads stand side by side as often as fill a tile: adding then runs in long stretches.
    heads = np.tile(scaled[0] + base, (1, _TILE_ROWS))
    buffer = np.empty((most_rows(space.count), pairs.shape[1]), np.float32)
    filled, at = 0, 0
    for i in range(space.count - 2):
        tail = pairs[space.pair_from(i + 1) :]
        _add_to_each(tail, heads[i], out=buffer[filled : filled + len(tail)])
        filled += len(tail)
        if filled >= BLOCK_ROWS or i == space.count - 3:
            yield slice(at, at + filled), buffer[:filled]
            at, filled = at + filled, 0


def _add_to_each(rows: Single, tile: Single, *, out: Single) -> None:
    """Add one head, given as a tile of several, to each of the rows."""
    whole = len(rows) - len(rows) % _TILE_ROWS
    np.add(rows[:whole].reshape(-1, len(tile)), tile, out=out[:whole].reshape(-1, len(tile)))
    np.add(rows[whole:], tile[: rows.shape[1]], out=out[whole:])


def _too_little(space: MixSpace, pattern: Pattern, share: Array) -> Flags:
    """Return which rows of a pattern ask for more of a shade than `share` of a bowl."""
    whole = sum(pattern.parts)
    short = [part / whole > share + 1e-9 for part in pattern.parts]
    if len(pattern.parts) == 1:
        return np.asarray(short[0])
    pairs = short[-2][space.first] | short[-1][space.second]
    if len(pattern.parts) == 2:
        return np.asarray(pairs)
    return np.concatenate(
        [short[0][i] | pairs[space.pair_from(i + 1) :] for i in range(space.count - 2)]
    )
