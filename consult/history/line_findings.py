"""What results say of a line, in rows for the owner: whose the error is, who reads how."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.utils.translation import gettext as _

from formulas.strength_proposal import Proposal, ReaderHabit
from salon.models import Staff


@dataclass(frozen=True)
class Share:
    """How much of the error is whose, in % of depth and of warmth."""

    label: str
    depth_percent: float
    warmth_percent: float


@dataclass(frozen=True)
class Reader:
    """How one member of staff reads results."""

    name: str
    reads: ReaderHabit


@dataclass(frozen=True)
class Findings:
    """What the page shows beside the strengths."""

    shares: list[Share]
    readers: list[Reader]
    line_percent: float


def findings(proposal: Proposal) -> Findings:
    """Return what results say beside the strengths; one query for the names."""
    learned = proposal.learned
    if learned is None:
        return Findings([], [], 0.0)
    labels = {
        "strengths": _("Strength of line and shades"),
        "readers": _("How each person reads"),
        "salon": _("How the whole salon reads"),
        "clients": _("Hair that takes more or less colour"),
        "rest": _("Reading in half steps, and chance"),
    }
    shares = [
        Share(label, 100.0 * learned.shares[whose][0], 100.0 * learned.shares[whose][1])
        for whose, label in labels.items()
    ]
    return Findings(shares, _readers(proposal.readers), 100.0 * (learned.line.value - 1.0))


def _readers(habits: Iterable[ReaderHabit]) -> list[Reader]:
    known = {int(reader.reader): reader for reader in habits}
    names = {staff.pk: staff.display_name for staff in Staff.objects.filter(pk__in=known)}
    rows = [Reader(names[pk], reader) for pk, reader in known.items()]
    return sorted(rows, key=lambda row: row.name)
