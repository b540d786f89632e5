"""Anchors by the owners' mail: a letter to each, and what became of them."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from django.core.mail import EmailMessage
from django.db.models import QuerySet
from django.utils.translation import gettext as _

from consult.agreement import anchor_places, anchors
from consult.models import Anchor
from salon import audit, languages
from salon.mailing import headers, letters
from salon.models import Letter, LetterState, Role, Salon, Staff
from salon.selectors import team

LETTER = "anchor"
WITHIN = dt.timedelta(days=7)  # a late one still proves what was signed by then


@dataclass(frozen=True)
class AnchorLine:
    """An anchor and the letters that carry it."""

    anchor: Anchor
    letters: list[Letter]

    @property
    def mailed(self) -> int:
        """How many mails have left; anchors of earlier releases count their own."""
        return self.anchor.mails + sum(row.state == LetterState.SENT for row in self.letters)

    @property
    def waiting(self) -> list[Letter]:
        """The letters that may still leave."""
        return [row for row in self.letters if row.is_open]

    @property
    def not_sent(self) -> list[Letter]:
        """The letters that did not leave, or of which nobody knows."""
        ended = {LetterState.REFUSED, LetterState.PERHAPS}
        return [row for row in self.letters if row.state in ended]

    @property
    def is_outside(self) -> bool:
        """Whether it arrived anywhere outside of the database."""
        return bool(self.anchor.file or self.anchor.stamp or self.mailed)


def readers(salon: Salon) -> QuerySet[Staff]:
    """Return the owners whom anchors go to."""
    return team(salon=salon).filter(role=Role.OWNER, is_active=True).exclude(email="")


def post(anchor: Anchor, *, at: dt.datetime) -> None:
    """Queue a letter to each owner."""
    for owner in readers(anchor.salon):
        letters.post(
            kind=LETTER,
            about=anchor.pk,
            salon=anchor.salon,
            reader=owner,
            at=at,
            within=WITHIN,
        )


def lines(rows: Iterable[Anchor]) -> list[AnchorLine]:
    """Return anchors with their letters, by one query."""
    listed = list(rows)
    found: dict[int, list[Letter]] = {row.pk: [] for row in listed}
    for letter in Letter.objects.filter(kind=LETTER, about__in=list(found)):
        found[letter.about].append(letter)
    return [AnchorLine(row, found[row.pk]) for row in listed]


def write(letter: Letter) -> EmailMessage | None:
    """Return the mail, or None where its reader has left."""
    anchor = Anchor.objects.select_related("salon").get(pk=letter.about)
    owner = readers(anchor.salon).filter(pk=letter.reader_id or 0).first()
    if owner is None:
        return None
    name = anchor_places.name_of(anchor)
    with languages.speaking(owner.language or anchor.salon.language):
        values = {
            "salon": anchor.salon.name,
            "position": anchor.position,
            "fingerprint": anchors.fingerprint(anchor.digest),
        }
        message = headers.message(
            salon=anchor.salon,
            subject=_("Sign-offs of %(salon)s: number %(position)d") % values,
            body=_(
                "The newest sign-off of %(salon)s is number %(position)d, fingerprint"
                " %(fingerprint)s.\n\nKeep this mail, and keep it where nobody in the salon"
                " can delete it. The attached file proves later that no sign-off up to this"
                " one was changed or removed. It holds no name and nothing about health."
            )
            % values,
            to=owner.email,
            key=f"anchor.{letter.pk}",
        )
    message.attach(name, anchor.text.encode(), "text/plain")
    if anchor.stamp:
        beside = str(anchor_places.stamp_beside(Path(name)))
        message.attach(beside, anchor.stamp_file, "application/timestamp-reply")
    return message


def note_end(letter: Letter) -> None:
    """Put on record that an anchor left by mail."""
    if letter.state == LetterState.SENT and letter.ended_at is not None:
        anchor = Anchor.objects.select_related("salon").get(pk=letter.about)
        audit.record_event(
            "anchor mailed",
            target=anchor,
            by=None,
            at=letter.ended_at,
            reader=letter.reader_id,
        )
