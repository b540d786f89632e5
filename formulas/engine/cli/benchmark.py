"""Measure the engine, side by side in one run: python -m formulas.engine.cli.benchmark."""

import os
import resource
import sys
import time
import tracemalloc
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial

import numpy as np

from formulas.engine.hair.chart import Chart
from formulas.engine.light.grid import BANDS, WAVELENGTHS_NM, Single, weights, white
from formulas.engine.light.library import colour_science
from formulas.engine.limit.limit import limit
from formulas.engine.search.head import head_of
from formulas.engine.search.offer import offer
from formulas.engine.search.quality import AIMS, Quality, quality
from formulas.engine.search.ranking import rank
from formulas.engine.search.search import SearchResult, search
from formulas.engine.search.sweep import BLOCK_ROWS
from formulas.engine.toner.lines import Line, demo_lines
from formulas.engine.toner.mixes import MixSpace
from formulas.engine.toner.shades import Shade
from formulas.engine.toner.zone import Zone

ZONE = Zone(7.5)
PLACES = (70.0, 37.5, 5.0)
TONES = (
    "natural",
    "violet",
    "blue",
    "violet-blue",
    "pearl",
    "gold",
    "copper",
    "beige",
    "green",
)


def line_of(count: int) -> Line:
    """Return a line of any number of shades: the demo's, and more in plain words."""
    line = demo_lines()["Tidepool"]
    more = (
        Shade.from_words(f"{level} {tone}")
        for level in (8, 6, 9, 7, 5, 10, 4, 3)
        for tone in TONES
    )
    known = {shade.name: shade for shade in (*line.shades, *more)}
    return replace(line, shades=tuple(known.values())[:count])


def bare_blocks(ks: Single, projection: Single) -> None:
    """The least that any search must do, at its best: root and product, block by block."""
    root = np.empty((BLOCK_ROWS, BANDS), np.float32)
    xyz = np.empty((BLOCK_ROWS, 3), np.float32)
    for at in range(0, len(ks), BLOCK_ROWS):
        m = ks[at : at + BLOCK_ROWS]
        r = root[: len(m)]
        np.multiply(m, m, out=r)
        np.subtract(r, np.float32(1.0), out=r)
        np.sqrt(r, out=r)
        np.subtract(m, r, out=r)
        np.matmul(r, projection, out=xyz[: len(m)])


def bare_whole(ks: Single, projection: Single) -> None:
    """The same as one writes it at once: one expression over all mixes."""
    (ks - np.sqrt(ks * ks - np.float32(1.0))) @ projection


def plainly(mixes: list[np.ndarray]) -> None:
    """The same prediction as one would write it with colour-science, mix by mix."""
    colour = colour_science()
    shape = colour.SpectralShape(400, 700, 10)
    observer = colour.MSDS_CMFS["CIE 1964 10 Degree Standard Observer"].copy().align(shape)
    illuminant = colour.SDS_ILLUMINANTS["D65"].copy().align(shape)
    xy = colour.XYZ_to_xy(white())
    for ks in mixes:
        reflectance = 1.0 + ks - np.sqrt(ks * ks + 2.0 * ks)
        spectrum = colour.SpectralDistribution(reflectance, WAVELENGTHS_NM)
        xyz = colour.sd_to_XYZ(spectrum, observer, illuminant, method="Integration")
        lab = colour.XYZ_to_Lab(xyz / 100.0, xy)
        colour.models.Lab_to_LCHab(lab)


def heading(text: str) -> None:
    print(f"\n{text}\n{'-' * len(text)}")


def row(name: str, *values: str) -> None:
    print(f"  {name:<58}" + "".join(f"{value:>14}" for value in values))


def in_turn(works: Sequence[Callable[[], object]], times: int = 9) -> list[tuple[float, float]]:
    """Return the shortest (wall, processor) time of each work, in ms.

    They take turns, so that all meet the same company on the machine; the processor's time
    leaves out what other programs took.
    """
    best = [(np.inf, np.inf)] * len(works)
    for _ in range(times):
        for n, work in enumerate(works):
            wall, used = time.perf_counter(), time.process_time()
            work()
            wall, used = time.perf_counter() - wall, time.process_time() - used
            best[n] = (min(best[n][0], wall * 1e3), min(best[n][1], used * 1e3))
    return best


def the_search() -> None:
    """Print the full search beside the bare work and the plain way."""
    line = line_of(60)
    result = search(ZONE, line)
    count = result.evaluated
    ks = all_ks(result)
    projection = (weights() / white()).astype(np.float32)
    some = list(np.asarray(ks[:100], dtype=float) - 1.0)
    names = {
        "search, frontier, limit, ranking for three places": lambda: rank(
            search(ZONE, line), PLACES
        ),
        "  of it: search with frontier and limit": lambda: search(ZONE, line),
        "  of it: the limit, 25 points": lambda: limit(ZONE),
        "  of it: ranking for three places": lambda: rank(result, PLACES),
        "bare root and product, in blocks": lambda: bare_blocks(ks, projection),
        "bare root and product, all at once": lambda: bare_whole(ks, projection),
        f"plainly with colour-science, {len(some)} mixes only": lambda: plainly(some),
    }
    took = in_turn(list(names.values()))
    heading(f"Every mix of 60 shades, three at most, six parts: {count:,} mixes")
    row("", "wall ms", "processor ms", "ns per mix")
    for name, (wall, used) in zip(names, took, strict=True):
        mixes = len(some) if "plainly" in name else count
        row(name, f"{wall:.1f}", f"{used:.1f}", f"{wall * 1e6 / mixes:.0f}")
    cpu = [used for _, used in took]
    row("all / bare work in blocks, processor", f"{cpu[0] / cpu[4]:.2f} x")
    row("all / bare work all at once, processor", f"{cpu[0] / cpu[5]:.2f} x")
    apart = cpu[0] - cpu[2]
    row("all but the limit / bare work all at once, processor", f"{apart / cpu[5]:.2f} x")
    row("plainly / all, per mix, processor", f"{cpu[6] / len(some) / (cpu[0] / count):,.0f} x")
    tracemalloc.start()
    rank(search(ZONE, line), PLACES)
    row("memory that one search takes", f"{tracemalloc.get_traced_memory()[1] / 1e6:.0f} MB")
    tracemalloc.stop()


def all_ks(result: SearchResult) -> Single:
    """Return K/S + 1 of every mix of a search, (mixes, 31)."""
    ks = np.empty((result.space.size, BANDS), np.float32)
    for part in np.array_split(np.arange(result.space.size), 40):
        ks[part] = (
            result.bed.fibre_ks(result.space.fractions(part) @ result.bed.loads)[:, 0] + 1.0
        )
    return ks


def growth() -> None:
    """Print how time grows with the count of mixes."""
    heading("Growth")
    row("shades", "mixes", "wall ms", "processor ms", "ns per mix")
    for shades in (20, 40, 60, 80):
        line = line_of(shades)
        count = MixSpace(shades, max_shades=3, max_parts=6).size
        ((wall, used),) = in_turn([partial(search, ZONE, line)], 5)
        row(
            str(shades), f"{count:,}", f"{wall:.1f}", f"{used:.1f}", f"{wall * 1e6 / count:.0f}"
        )


def four_shades() -> None:
    """Print the pruned search."""
    heading("Four shades at most of 60, exact by pruning")
    row("parts", "mixes", "kept to read", "wall ms", "processor ms")
    for parts in (6, 8):
        work = partial(search, ZONE, line_of(60), max_shades=4, max_parts=parts)
        result = work()
        ((wall, used),) = in_turn([work], 3)
        kept = f"{len(result.pool.rows):,}"
        row(str(parts), f"{result.evaluated:,}", kept, f"{wall:.0f}", f"{used:.0f}")


def whole_heads() -> None:
    """Print what one head of several zones takes once each zone was searched."""
    heading("One head of several zones, 60 shades, within practice")
    row("zones", "mixes", "wall ms", "processor ms", "of a search")
    line = line_of(60)
    for levels in ((7.5, 8.5), (7.5, 8.5, 9.0), (7.0, 7.5, 8.0, 8.5, 9.0), (6.0, 9.5)):
        offers = {f"{level:g}": offer(Zone(level), line) for level in levels}
        mixes = sum(len(found.within.pool.rows) for found in offers.values())
        works: list[Callable[[], object]] = [
            partial(head_of, offers),
            partial(search, ZONE, line),
        ]
        (wall, used), (_wall, alone) = in_turn(works, 5)
        names = ", ".join(offers)
        row(names, f"{mixes:,}", f"{wall:.0f}", f"{used:.0f}", f"{used / alone:.1f} x")


def how_close() -> None:
    """Print how close the best mix comes to the limit, per base."""
    for name, line in demo_lines().items():
        heading(f"How much deeper the best mix of {name} looks than the limit, in levels")
        row(
            "lifted level; the limit itself in brackets",
            *[f"{aim:.0f} % warmth" for aim in AIMS],
        )
        found = quality(line)
        for start in range(0, len(found), len(AIMS)):
            cells = found[start : start + len(AIMS)]
            row(f"{cells[0].level:g}", *[in_words(cell) for cell in cells])


def in_words(cell: Quality) -> str:
    """Return "gap (limit)", or a dash where no mix is so cool."""
    gap = "-" if cell.gap_levels is None else f"{cell.gap_levels:.2f}"
    return f"{gap} ({cell.limit_levels:.2f})"


def main() -> None:
    """Print every measurement."""
    threads = os.environ.get("OPENBLAS_NUM_THREADS", "as the library chooses")
    print(f"numpy {np.__version__}, Python {sys.version.split()[0]}, one process, "
          f"{os.cpu_count()} cores, OPENBLAS_NUM_THREADS {threads}")  # fmt: skip
    Chart.default()
    the_search()
    growth()
    four_shades()
    whole_heads()
    how_close()
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"\nPeak memory of the whole run, libraries and comparisons among it: {peak:.0f} MB")


if __name__ == "__main__":
    main()
