"""Tasks that say what becomes of them, for workers that run as processes."""

import time
from pathlib import Path

from django_tasks import task

from salon.work import lanes


def write(path: str, word: str) -> None:
    """Add a line at once."""
    with Path(path).open("a") as file:
        file.write(f"{word}\n")


@task()
def note(path: str, word: str) -> None:
    """Add a word to the file."""
    write(path, word)


@task(queue_name=lanes.LONG)
def hold(path: str) -> None:
    """Say that it began, wait for a file to appear, say that it ended."""
    write(path, "began")
    while not Path(f"{path}.go").exists():
        time.sleep(0.02)
    write(path, "ended")


@task()
def fail() -> None:
    """Fail."""
    raise LookupError("as meant")
