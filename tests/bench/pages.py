"""Measure what pages cost: `python -m tests.bench.pages DATABASE_URL [DATABASE_URL ...]`.

Each database is a salon of `manage.py fill_salon`, the smaller one first. For every page:
CPU of this process and wall time of one request, the least of a few after a warm-up, the
number of queries, and how much the CPU grows from the first to the last database. On
PostgreSQL the server's work is in the wall time only. It prints; it asserts nothing. Each
database has a process of its own, so that what one learned does not help the other.
"""

import json
import os
import resource
import subprocess
import sys
import time
from collections.abc import Callable
from typing import Any

ROUNDS = 4
Row = dict[str, Any]


def measure() -> list[Row]:
    """Return the figures of every page of the database in DATABASE_URL."""
    import django

    django.setup()
    from tests.bench.subjects import subjects

    return [_figures(name, goal, press) for name, goal, press in subjects()]


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
        began, began_cpu = time.perf_counter(), time.process_time()
        press()
        cpu.append(1000 * (time.process_time() - began_cpu))
        wall.append(1000 * (time.perf_counter() - began))
        if sum(wall) > 20_000:
            break
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return {
        "name": name, "goal": goal, "cpu": min(cpu), "wall": min(wall),
        "queries": len(queries), "memory": memory,
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
    print(f"{'':34}{'wanted':>7}" + f"{'CPU ms':>9}{'wall':>7}{'q':>5}" * len(urls), end="")
    print(f"{'growth':>9}")
    for name, first in columns[0].items():
        rows = [column[name] for column in columns]
        print(f"{name:34}{first['goal'] or '':>7}", end="")
        for row in rows:
            print(f"{row['cpu']:9.0f}{row['wall']:7.0f}{row['queries']:5}", end="")
        growth = max(row["cpu"] for row in rows[-1:]) / max(first["cpu"], 1)
        by_wall = rows[-1]["wall"] / max(first["wall"], 1)
        print(f"{max(growth, by_wall):9.1f}")
    sizes = [max(row["memory"] for row in column.values()) for column in columns]
    print("worker, MB:" + "".join(f"{size:9.0f}" for size in sizes))


if __name__ == "__main__":
    if sys.argv[1:] == ["--one"]:
        print(json.dumps(measure()))
    else:
        main(sys.argv[1:])
