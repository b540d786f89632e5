"""What there is to show that no sign-off was changed: the chain, its anchors, the guards."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from django.conf import settings
from django.db import connection
from django.db.models import Exists, OuterRef, Q
from django.utils.translation import gettext as _

from clients.diary import opening
from consult.agreement import anchor_mail, anchor_places, anchors, verification
from consult.agreement.anchors import AnchorText
from consult.agreement.verification import BrokenLink
from consult.models import Anchor, SignOff
from salon import serving_account, signing_keys, timestamps, triggers
from salon.models import Letter, LetterState, Salon


@dataclass
class AnchorFiles:
    """The anchors that were read, by salon, and what is wrong with files among them."""

    by_salon: dict[int, list[AnchorText]] = field(default_factory=lambda: defaultdict(list))
    faults: list[str] = field(default_factory=list)
    stamps: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class Findings:
    """What a look at everything found."""

    count: int
    broken: BrokenLink | None
    faults: list[str]
    anchors: int
    may_alter: bool  # the account in use could remove the guards

    @property
    def is_sound(self) -> bool:
        """Whether nothing is wrong."""
        return self.broken is None and not self.faults


def newest(salon: Salon) -> SignOff | None:
    """Return a salon's newest sign-off."""
    return SignOff.objects.filter(salon=salon).order_by("-number").first()


def last_anchor(salon: Salon) -> Anchor | None:
    """Return a salon's last anchor that arrived somewhere outside."""
    left = Letter.objects.filter(
        kind=anchor_mail.LETTER, about=OuterRef("pk"), state=LetterState.SENT
    )
    is_outside = ~Q(file="") | ~Q(stamp="") | Q(mails__gt=0) | Exists(left)
    return Anchor.objects.filter(is_outside, salon=salon).first()


def is_due(salon: Salon, *, at: dt.datetime) -> bool:
    """Return whether a day is over whose sign-offs no anchor outside knows yet."""
    head, last = newest(salon), last_anchor(salon)
    if head is None or (last and last.position >= head.number) or _is_on_its_way(head):
        return False
    today = at.astimezone(salon.zone).date()
    if head.signed_at.astimezone(salon.zone).date() < today:
        return True
    hours = opening.hours_on(salon=salon, day=today)
    return hours is None or at >= hours.closes_at


def _is_on_its_way(head: SignOff) -> bool:
    """Return whether an anchor of a sign-off waits for the mail server: no second one then."""
    newest = Anchor.objects.filter(salon=head.salon_id, position__gte=head.number)
    return Letter.objects.filter(
        kind=anchor_mail.LETTER,
        about__in=newest.values("pk"),
        state__in=[LetterState.WAITING, LetterState.SENDING],
    ).exists()


def digests_of(salon: Salon) -> dict[int, str]:
    """Return the digests of a salon's chain as it is now, by number."""
    return dict(SignOff.objects.filter(salon=salon).values_list("number", "digest"))


def difference(salon: Salon, anchored: Iterable[AnchorText]) -> BrokenLink | None:
    """Return the first sign-off of a salon that anchors know otherwise, or None."""
    return anchors.first_difference(anchored, digests_of(salon))


def printed_difference(salon: Salon, position: int, fingerprint: str) -> BrokenLink | None:
    """Return whether a sign-off is another than the one whose fingerprint was printed."""
    digest = digests_of(salon).get(position)
    wanted = fingerprint.replace(" ", "").lower()
    if digest is None:
        return BrokenLink(position, _("it is missing"))
    if len(wanted) < anchors.FINGERPRINT_LENGTH or not digest.startswith(wanted):
        return BrokenLink(position, _("its fingerprint is different"))
    return None


def read_files(places: Iterable[Path]) -> AnchorFiles:
    """Read anchors from files and folders, and verify the time stamps beside them."""
    read, keys = AnchorFiles(), signing_keys.known()
    for file in [file for place in places for file in anchor_places.files_in(place)]:
        try:
            text = file.read_text(encoding="utf-8")
            anchor = anchors.read(text, keys=keys)
            read.by_salon[anchor.salon_id].append(anchor)
            stamp = anchor_places.stamp_beside(file)
            if stamp.exists() and settings.TIMESTAMP_CERTIFICATES:
                seen = timestamps.stamped_at(stamp.read_bytes(), text.encode())
                read.stamps.append(f"{file}: {seen.isoformat()}")
        except (OSError, ValueError, anchors.AnchorUnreadable) as error:
            read.faults.append(f"{file}: {error}")
    return read


def look(salon: Salon) -> Findings:
    """Verify the chain, compare it with every anchor at hand, and ask the guards."""
    folder = anchor_places.folder_of(salon.pk)
    read = read_files([folder] if folder and folder.is_dir() else [])
    kept, faults = _kept(salon)
    mine = [*read.by_salon[salon.pk], *kept]
    digests: Mapping[int, str] = digests_of(salon)
    broken = verification.fault_in(salon)
    other = anchors.first_difference(mine, digests)
    if other and (broken is None or other.number < broken.number):
        broken = other
    if settings.APPEND_ONLY_TRIGGERS:
        faults += triggers.faults(connection)
    return Findings(
        len(digests),
        broken,
        [*read.faults, *faults],
        len(mine),
        serving_account.may_alter(connection),
    )


def _kept(salon: Salon) -> tuple[list[AnchorText], list[str]]:
    """Return the anchors that the database itself remembers, and those that do not hold."""
    found, faults, keys = [], [], signing_keys.known()
    for row in Anchor.objects.filter(salon=salon):
        try:
            found.append(anchors.read(row.text, keys=keys))
        except anchors.AnchorUnreadable as error:
            faults.append(_("Anchor %(pk)d: %(why)s") % {"pk": row.pk, "why": error})
    return found, faults
