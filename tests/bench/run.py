"""Fill salons of two sizes on both databases and measure their pages: `make bench-pages`.

`python -m tests.bench.run SMALL LARGE [FOLDER]`. A SQLite file is kept in the folder, a
PostgreSQL database (`bench_SMALL`) on the server of `salon.tools.with_postgres`: what is there
is not filled again. Where no server is to be had, PostgreSQL is left out and it says so.
"""

import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlsplit

import psycopg

from salon.tools import with_postgres
from tests.bench import pages

CLIENTS_OF_VISITS = 5
# Visits of a stylist in ten years: as many stylists in both, so that a day is as full.
A_STYLIST = 15_000
# The latest visits, of which every row is kept.
WHOLE = 5_000


def sqlite(sizes: list[int], folder: Path) -> Iterator[str]:
    """Yield the address of a filled file of each size."""
    folder.mkdir(parents=True, exist_ok=True)
    for size in sizes:
        file = folder / f"{size}.sqlite3"
        if not file.exists():
            part = file.with_suffix(".part")
            part.unlink(missing_ok=True)
            _fill(f"sqlite:///{part.absolute()}", size, max(sizes))
            part.rename(file)
        yield f"sqlite:///{file.absolute()}"


def postgres(sizes: list[int], server: str) -> Iterator[str]:
    """Yield the address of a filled database of each size."""
    with psycopg.connect(server, autocommit=True) as connection:
        for size in sizes:
            name = f"bench_{size}"
            url = urlsplit(server)._replace(path=f"/{name}").geturl()
            known = connection.execute(
                "SELECT 1 FROM pg_database WHERE datname = %s", [name]
            ).fetchone()
            if not known:
                part = f"{name}_part"
                connection.execute(f'DROP DATABASE IF EXISTS "{part}"')
                connection.execute(f'CREATE DATABASE "{part}"')
                _fill(urlsplit(server)._replace(path=f"/{part}").geturl(), size, max(sizes))
                connection.execute(f'ALTER DATABASE "{part}" RENAME TO "{name}"')
            yield url


def _fill(url: str, size: int, largest: int) -> None:
    env = os.environ | {"DATABASE_URL": url, "SALON_MODE": "local"}
    if url.startswith("postgres"):
        env["PGOPTIONS"] = with_postgres.QUICK
    print(f"Filling {size} visits: {urlsplit(url).scheme}", flush=True)
    filled = [
        "fill_salon", "--visits", str(size), "--clients", str(-(-size // CLIENTS_OF_VISITS)),
        "--stylists", str(max(10, round(largest / A_STYLIST))), "--whole", str(WHOLE),
    ]  # fmt: skip
    for command in (["migrate", "--verbosity", "0"], filled):
        subprocess.run([sys.executable, "manage.py", *command], env=env, check=True)


def main(small: int, large: int, folder: Path) -> None:
    """Fill what is missing, measure and print."""
    sizes = [small, large]
    pages.compare("SQLite", list(sqlite(sizes, folder)))
    with with_postgres.server() as found:
        if found is None:
            print(f"{with_postgres.BANNER}\nNo PostgreSQL: it was NOT measured.")
            return
        server, which = found
        # All in one process: what its helpers take would not be counted.
        os.environ.setdefault("PGOPTIONS", "-c max_parallel_workers_per_gather=0")
        pages.compare(f"PostgreSQL ({which})", list(postgres(sizes, server)))


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]), Path((sys.argv[3:] or ["var/bench"])[0]))
