"""A secret key for one machine, made on first use and kept out of the repository."""

from pathlib import Path

from django.core.management.utils import get_random_secret_key


def read_or_make(path: Path) -> str:
    """Return the key kept at `path`, making it on the first call."""
    if path.exists():
        return path.read_text().strip()
    path.parent.mkdir(parents=True, exist_ok=True)
    path.touch(mode=0o600)
    path.write_text(get_random_secret_key())
    return path.read_text().strip()
