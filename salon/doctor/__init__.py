"""What is missing or odd about an installation, in words, each with what to do.

Faults that Django's checks find are taken from them (`salon/checks.py` and those of the apps);
the modules here look at what no check can: the machine, the clock, the database's account.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from enum import StrEnum


class Weight(StrEnum):
    """How much a finding matters."""

    FINE = "fine"
    ODD = "odd"  # works, but somebody should look
    WRONG = "wrong"  # something that a salon needs does not work


@dataclass(frozen=True)
class Finding:
    """One thing that was looked at."""

    subject: str
    weight: Weight
    sentence: str
    remedy: str = ""


# By the id of a Django check; apps add theirs.
SUBJECTS = {
    "salon.E001": "Guards",
    "salon.E002": "Mail",
    "salon.W001": "Mail",
    "salon.E003": "Keys",
    "salon.W002": "Keys",
    "salon.E004": "Keys",
    "salon.W003": "Keys",
}

Examination = Callable[[], Iterator[Finding]]


def fine(subject: str, sentence: str) -> Finding:
    """Return that all is well."""
    return Finding(subject, Weight.FINE, sentence)


def odd(subject: str, sentence: str, remedy: str) -> Finding:
    """Return that somebody should look."""
    return Finding(subject, Weight.ODD, sentence, remedy)


def wrong(subject: str, sentence: str, remedy: str) -> Finding:
    """Return that something does not work."""
    return Finding(subject, Weight.WRONG, sentence, remedy)
