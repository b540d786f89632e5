"""Where anchors go: a folder that may be on another machine, and the owners' mail."""

import datetime as dt
from collections.abc import Sequence
from pathlib import Path

from django.conf import settings
from django.core.mail import EmailMessage
from django.utils.translation import gettext as _

from consult.agreement import anchors
from consult.models import Anchor
from salon import languages
from salon.models import Staff


def folder_of(salon_id: int) -> Path | None:
    """Return the folder of a salon's anchors, or None where no folder is set."""
    return Path(settings.ANCHOR_DIR) / f"salon-{salon_id}" if settings.ANCHOR_DIR else None


def name_of(anchor: Anchor) -> str:
    """Return the name of an anchor's file: in the order of their numbers and times."""
    made_at = anchor.made_at.astimezone(dt.UTC)
    return f"sign-offs-{anchor.position:06d}-{made_at:%Y%m%dT%H%M%SZ}.txt"


def write(anchor: Anchor) -> Path | None:
    """Write an anchor, and its time stamp beside it, into the folder; never over another."""
    folder = folder_of(anchor.salon_id)
    if folder is None:
        return None
    folder.mkdir(parents=True, exist_ok=True)
    file = folder / name_of(anchor)
    with file.open("x", encoding="utf-8") as out:
        out.write(anchor.text)
    if anchor.stamp:
        stamp_beside(file).write_bytes(anchor.stamp_file)
    return file


def stamp_beside(file: Path) -> Path:
    """Return where the time stamp of an anchor's file is."""
    return file.with_suffix(".tsr")


def files_in(place: Path) -> list[Path]:
    """Return the anchors of a folder and those below it, or the file itself."""
    return sorted(place.rglob("sign-offs-*.txt")) if place.is_dir() else [place]


def mail(owners: Sequence[Staff], anchor: Anchor) -> int:
    """Send an anchor to each of the owners; return how many mails left."""
    name = name_of(anchor)
    for owner in owners:
        with languages.speaking(owner.language or owner.salon.language):
            values = {
                "salon": owner.salon.name,
                "position": anchor.position,
                "fingerprint": anchors.fingerprint(anchor.digest),
            }
            message = EmailMessage(
                subject=_("Sign-offs of %(salon)s: number %(position)d") % values,
                body=_(
                    "The newest sign-off of %(salon)s is number %(position)d, fingerprint"
                    " %(fingerprint)s.\n\nKeep this mail, and keep it where nobody in the salon"
                    " can delete it. The attached file proves later that no sign-off up to this"
                    " one was changed or removed. It holds no name and nothing about health."
                )
                % values,
                to=[owner.email],
            )
        message.attach(name, anchor.text.encode(), "text/plain")
        if anchor.stamp:
            beside = str(stamp_beside(Path(name)))
            message.attach(beside, anchor.stamp_file, "application/timestamp-reply")
        message.send()
    return len(owners)
