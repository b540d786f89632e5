"""Measure what pages cost: `python -m tests.bench.pages DATABASE_URL [DATABASE_URL ...]`.

Each database is a salon of `manage.py fill_salon`, all of one kind, the smaller one first
(`tests.bench.run` fills and compares both kinds). For every page: CPU and wall time of one
request, the least of a few after a warm-up, the number of queries, how much the CPU grows, and
whether the largest one keeps what is wanted of the page. Where PostgreSQL runs on this machine,
its process counts as ours. The find box is typed into many times: of these the 95th of a
hundred. It prints; it asserts nothing. Each database has a process of its own, so that what one
learned does not help the other.
"""

import gc
import json
import os
import resource
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from statistics import fmean, quantiles
from typing import Any
from urllib.parse import urlsplit

ROUNDS = 4
# Wanted of a worker, and of the larger database beside the smaller.
WORKER_MB, MOST_GROWTH, NOISE_MS = 250, 1.5, 8
Row = dict[str, Any]
# What a salon opens all day: beside Django's own lists of the same rows.
ORDINARY = (
    "find box, 3 letters", "day, a full one", "day, today", "client", "booking form",
    "stylist's today", "bench", "skin tests",
)  # fmt: skip


def measure() -> list[Row]:
    """Return the figures of every page of the database in DATABASE_URL."""
    import django

    django.setup()
    from tests.bench.subjects import subjects, typed_into_the_find_box

    gc.freeze()  # as a web process does, in `salon.gunicorn`
    rows = [_figures(name, goal, press) for name, goal, press in subjects()]
    return [_of_many("find box, 95th of 100", 50, typed_into_the_find_box()), *rows]


def _of_many(name: str, goal: int, presses: list[Callable[[], Any]]) -> Row:
    """Return what 95 of a hundred requests stay below, each made once after all were."""
    for press in presses:  # what they read is in memory then, as it is in a salon at work
        press()
    cpu, wall = zip(*[_pressed(press) for press in presses], strict=True)
    return {
        "name": name, "goal": goal, "cpu": quantiles(cpu, n=20)[-1],
        "wall": quantiles(wall, n=20)[-1], "queries": 0, "memory": _memory(),
    }  # fmt: skip


def _pressed(press: Callable[[], Any]) -> tuple[float, float]:
    """Return CPU and wall time of one request, ms."""
    began, began_cpu = time.perf_counter(), time.process_time() + _server_cpu()
    press()
    cpu = time.process_time() + _server_cpu() - began_cpu
    return 1000 * cpu, 1000 * (time.perf_counter() - began)


def _server_cpu() -> float:
    """Return the seconds that this connection's PostgreSQL process took on this machine."""
    from django.db import connection

    if connection.vendor != "postgresql" or connection.connection is None:
        return 0.0
    process = Path(f"/proc/{connection.connection.info.backend_pid}")
    try:
        if "postgres" not in (process / "stat").read_text():
            return 0.0
        return int((process / "schedstat").read_text().split()[0]) / 1e9
    except OSError:
        return 0.0


def _memory() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def _figures(name: str, goal: int, press: Callable[[], Any]) -> Row:
    """Return one page's least CPU and wall, its queries, and the worker's size after it."""
    from django.db import connection

    queries: list[str] = []

    def noted(execute: Any, sql: str, *rest: Any) -> Any:
        queries.append(sql)
        return execute(sql, *rest)

    press()
    with connection.execute_wrapper(noted):
        press()
    cpu, wall = [], []
    for _ in range(ROUNDS):
        took, lasted = _pressed(press)
        cpu.append(took)
        wall.append(lasted)
        if sum(wall) > 20_000:
            break
    return {
        "name": name, "goal": goal, "cpu": min(cpu), "wall": min(wall),
        "queries": len(queries), "memory": _memory(),
    }  # fmt: skip


def compare(kind: str, urls: list[str]) -> None:
    """Measure databases of one kind, the smaller one first, and print a table of them."""
    columns = [_measured(url) for url in urls]
    print(
        f"\n{kind}\n{'':32}{'wanted':>7}" + f"{'CPU ms':>9}{'wall':>7}{'q':>5}" * len(urls),
        end="",
    )
    print(f"{'growth':>8}")
    for name in columns[0]:
        _print_row([column[name] for column in columns])
    for column, url in zip(columns, urls, strict=True):
        size = max(row["memory"] for row in column.values())
        lists = [row["cpu"] for name, row in column.items() if name.startswith("Django")]
        pages = [row["cpu"] for name, row in column.items() if name in ORDINARY]
        name = urlsplit(url).path.rsplit("/", 1)[-1]
        print(
            f"{name}: worker {size:.0f} MB (wanted {WORKER_MB}:"
            f" {_verdict(size, WORKER_MB)}), Django's lists / ordinary pages:"
            f" {fmean(lists) / fmean(pages):.1f}"
        )


def _print_row(rows: list[Row]) -> None:
    first, last = rows[0], rows[-1]
    print(f"{first['name']:32}{first['goal'] or '':>7}", end="")
    for row in rows:
        print(f"{row['cpu']:9.0f}{row['wall']:7.0f}{row['queries']:5}", end="")
    growth = last["cpu"] / max(first["cpu"], 1)
    # What takes a few ms is noise, not growth.
    grows = growth > MOST_GROWTH and last["cpu"] - first["cpu"] > NOISE_MS
    verdict = _verdict(last["cpu"], first["goal"]) if first["goal"] else ""
    print(f"{growth:8.1f}  {verdict:7}{'grows' if grows else ''}".rstrip())


def _verdict(value: float, wanted: float) -> str:
    return "kept" if value <= wanted else "MISSED"


def _measured(url: str) -> dict[str, Row]:
    env = os.environ | {
        "DATABASE_URL": url,
        "DJANGO_SETTINGS_MODULE": "tests.bench.settings",
        "SALON_MODE": "local",
        "OPENBLAS_NUM_THREADS": "1",
    }
    out = subprocess.run(
        [sys.executable, "-m", "tests.bench.pages", "--one"],
        env=env, check=True, stdout=subprocess.PIPE, text=True,
    )  # fmt: skip
    return {row["name"]: row for row in json.loads(out.stdout)}


if __name__ == "__main__":
    if sys.argv[1:] == ["--one"]:
        print(json.dumps(measure()))
    else:
        compare("", sys.argv[1:])
