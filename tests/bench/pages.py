"""Measure what pages cost: `python -m tests.bench.pages DATABASE_URL [DATABASE_URL ...]`.

Each database is a salon of `manage.py fill_salon`, the smaller one first; several pairs, each
of one kind of database, are compared pair by pair. For every page: CPU and wall time of one
request, the least of a few after a warm-up, the number of queries, and how much the CPU grows
within a pair. Where PostgreSQL runs on this machine, its process counts as ours. The find box
is typed into many times: of these the 95th of a hundred. It prints; it asserts nothing. Each
database has a process of its own, so that what one learned does not help the other.
"""

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
Row = dict[str, Any]
# What a salon opens all day: beside Django's own lists of the same rows.
ORDINARY = (
    "find box, 3 letters", "day, yesterday", "day, today", "client", "booking form",
    "stylist's today", "bench", "skin tests",
)  # fmt: skip


def measure() -> list[Row]:
    """Return the figures of every page of the database in DATABASE_URL."""
    import django

    django.setup()
    from tests.bench.subjects import subjects, typed_into_the_find_box

    rows = [_figures(name, goal, press) for name, goal, press in subjects()]
    return [_of_many("find box, 95th of 100", 50, typed_into_the_find_box()), *rows]


def _of_many(name: str, goal: int, presses: list[Callable[[], Any]]) -> Row:
    """Return what 95 of a hundred requests stay below, each made once after the first."""
    presses[0]()
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
    """Return the seconds that this connection's PostgreSQL process took, in hundredths."""
    from django.db import connection

    if connection.vendor != "postgresql" or connection.connection is None:
        return 0.0
    stat = Path(f"/proc/{connection.connection.info.backend_pid}/stat")
    if not stat.exists() or "postgres" not in stat.read_text():
        return 0.0
    user, system = stat.read_text().rsplit(")", 1)[1].split()[11:13]
    return (int(user) + int(system)) / os.sysconf("SC_CLK_TCK")


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


def main(urls: list[str]) -> None:
    """Print one table: a column of figures for each database."""
    columns = []
    for url in urls:
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
        columns.append({row["name"]: row for row in json.loads(out.stdout)})
    kinds = [urlsplit(url).scheme for url in urls]
    pairs = [
        (places[0], places[-1])
        for kind in dict.fromkeys(kinds)
        if len(places := [place for place, of in enumerate(kinds) if of == kind]) > 1
    ]
    print(f"{'':34}{'wanted':>7}" + f"{'CPU ms':>9}{'wall':>7}{'q':>5}" * len(urls), end="")
    print(f"{'growth':>9}" * len(pairs))
    for name, first in columns[0].items():
        rows = [column[name] for column in columns]
        print(f"{name:34}{first['goal'] or '':>7}", end="")
        for row in rows:
            print(f"{row['cpu']:9.0f}{row['wall']:7.0f}{row['queries']:5}", end="")
        growth = (rows[last]["cpu"] / max(rows[start]["cpu"], 1) for start, last in pairs)
        print("".join(f"{times:9.1f}" for times in growth))
    sizes = [max(row["memory"] for row in column.values()) for column in columns]
    print("worker, MB:" + "".join(f"{size:9.0f}" for size in sizes))
    for column, url in zip(columns, urls, strict=True):
        lists = [row["cpu"] for name, row in column.items() if name.startswith("Django")]
        pages = [row["cpu"] for name, row in column.items() if name in ORDINARY]
        print(f"Django's lists / ordinary pages: {fmean(lists) / fmean(pages):.1f} ({url})")


if __name__ == "__main__":
    if sys.argv[1:] == ["--one"]:
        print(json.dumps(measure()))
    else:
        main(sys.argv[1:])
