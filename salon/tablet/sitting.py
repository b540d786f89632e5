"""A sitting: what one full login opened on one device, and who holds it now.

It lives in the session. A full login (name and password) opens it; a PIN hands it to someone
else, until twelve hours after that login at the latest. It locks when nobody has touched the
screen for a while. Requests that pages send by themselves say how long ago that was.
"""

import dataclasses
import datetime as dt
from typing import Any

from django.conf import settings
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from django.http import HttpRequest
from django.middleware.csrf import rotate_token

from salon import selectors
from salon.models import Device, Staff

KEY = "sitting"
PASSWORD, PIN = "password", "pin"
LONGEST = dt.timedelta(hours=12)
# Seen no more exactly than this, or every request would write the session.
STEP_SECONDS = 10


@dataclasses.dataclass
class Sitting:
    """What the session knows; moments are seconds since the epoch."""

    opened_at: float
    opened_by: int
    opened_key: str
    how: str
    seen_at: float
    idle_seconds: int
    device: int | None = None
    has_pin: bool = False
    has_passkey: bool = False
    # Whether there are accounts of other salons to go over into.
    has_links: bool = False
    # Opened by a full login in another salon of the same person; `opened_by` is that account.
    is_from_elsewhere: bool = False
    is_locked: bool = False
    # In a client's hands: then only whoever handed it out may unlock it.
    is_handed_out: bool = False
    # What is to be set before anything else is opened; see `salon.accounts`.
    owes: str = ""

    def is_over(self, at: dt.datetime) -> bool:
        """Whether the full login that opened it is too long ago."""
        return at.timestamp() - self.opened_at >= LONGEST.total_seconds()

    def seconds_left(self, at: dt.datetime) -> float:
        """Return how long it stays open untouched."""
        return self.idle_seconds - (at.timestamp() - self.seen_at)

    @property
    def may_switch(self) -> bool:
        """Whether it began on an enrolled device; the device itself is asked again later."""
        return self.device is not None and not self.is_handed_out

    @property
    def can_pin(self) -> bool:
        """Whether whoever holds it may unlock it by PIN."""
        return self.has_pin and (self.device is not None or self.is_handed_out)


def read(request: HttpRequest) -> Sitting | None:
    """Return the session's sitting, or None."""
    kept = request.session.get(KEY)
    try:
        return Sitting(**kept) if kept else None
    except TypeError:  # from another release
        return None


def keep(request: HttpRequest, sitting: Sitting) -> None:
    """Write it back into the session."""
    request.session[KEY] = dataclasses.asdict(sitting)


def open_full(
    request: HttpRequest, staff: Staff, *, device: Device | None, at: dt.datetime
) -> Sitting:
    """Begin a sitting for someone who gave name and password."""
    moment = at.timestamp()
    before = read(request)
    sitting = Sitting(
        opened_at=moment,
        opened_by=staff.pk,
        opened_key=staff.get_session_auth_hash(),
        how=PASSWORD,
        seen_at=moment,
        idle_seconds=_idle_seconds(staff),
        device=device.pk if device else None,
        has_pin=selectors.has_pin(staff=staff),
        has_passkey=selectors.has_passkey(staff=staff),
        is_handed_out=before.is_handed_out if before else False,
        has_links=selectors.has_linked_accounts(staff=staff),
        owes=_owed_by(staff),
    )
    keep(request, sitting)
    return sitting


def hand_to(request: HttpRequest, staff: Staff, *, at: dt.datetime) -> None:
    """Hand an open sitting to someone whose PIN was right: a new session, nothing of the old.

    Not `login()`: its signal would open a full sitting and clear the password's throttle.
    """
    sitting = read(request)
    if sitting is None:
        raise ValueError("There is no sitting to hand over.")
    _new_session(request, staff)
    keep(
        request,
        dataclasses.replace(
            sitting,
            how=PIN,
            seen_at=at.timestamp(),
            idle_seconds=_idle_seconds(staff),
            has_pin=True,
            has_passkey=selectors.has_passkey(staff=staff),
            is_locked=False,
            owes="",
        ),
    )


def may_change_salon(sitting: Sitting, staff: Staff) -> bool:
    """Return whether it was opened by the password of whoever holds it, here or elsewhere."""
    is_theirs = sitting.opened_by == staff.pk or sitting.is_from_elsewhere
    is_open = not (sitting.is_locked or sitting.is_handed_out or sitting.owes)
    return sitting.how == PASSWORD and is_theirs and is_open and is_opener_valid(sitting)


def go_over(
    request: HttpRequest, staff: Staff, *, device: Device | None, at: dt.datetime
) -> None:
    """Go on as an account of the same person in another salon: a new session.

    It ends when the login that opened it would have, and with that account's right to be in.
    Not `login()`: nobody gave the password that it would take to lift a block.
    """
    sitting = read(request)
    if sitting is None:
        raise ValueError("There is no sitting to go over from.")
    _new_session(request, staff)
    keep(
        request,
        dataclasses.replace(
            sitting,
            seen_at=at.timestamp(),
            idle_seconds=_idle_seconds(staff),
            device=device.pk if device else None,
            has_pin=selectors.has_pin(staff=staff),
            has_passkey=selectors.has_passkey(staff=staff),
            has_links=True,
            is_from_elsewhere=sitting.opened_by != staff.pk,
            owes=_owed_by(staff),
        ),
    )


def _new_session(request: HttpRequest, staff: Staff) -> None:
    """Go on as this account, with nothing of the old session but where the page was."""
    place = request.session.get("place")
    request.session.flush()
    request.session["place"] = place
    _sign(request, staff)
    rotate_token(request)
    request.user = staff
    request.salon = staff.salon  # type: ignore[attr-defined]


def _sign(request: HttpRequest, staff: Staff) -> None:
    request.session[SESSION_KEY] = str(staff.pk)
    request.session[BACKEND_SESSION_KEY] = settings.AUTHENTICATION_BACKENDS[-1]
    request.session[HASH_SESSION_KEY] = staff.get_session_auth_hash()


def prove(request: HttpRequest, *, how: str, device: Device | None, at: dt.datetime) -> None:
    """Go on with the sitting of the same person, who has just given PIN or password.

    The session gets a new key. Forms that are open on the screen stay valid.
    """
    sitting = read(request)
    staff: Any = request.user
    request.session.cycle_key()
    if sitting is None or how == PASSWORD:
        open_full(request, staff, device=device, at=at)
        return
    keep(
        request,
        dataclasses.replace(
            sitting,
            how=PIN,
            seen_at=at.timestamp(),
            idle_seconds=_idle_seconds(staff),
            is_locked=False,
        ),
    )


def lock(request: HttpRequest) -> None:
    """Shut the screen until whoever holds it unlocks it."""
    sitting = read(request)
    if sitting and not sitting.is_locked:
        keep(request, dataclasses.replace(sitting, is_locked=True))


def note(request: HttpRequest, **changes: Any) -> None:
    """Change what the session knows of the sitting."""
    sitting = read(request)
    if sitting:
        keep(request, dataclasses.replace(sitting, **changes))


def is_opener_valid(sitting: Sitting) -> bool:
    """Return whether the full login that opened it would still be good."""
    opener = selectors.active_member(pk=sitting.opened_by)
    return opener is not None and opener.get_session_auth_hash() == sitting.opened_key


def _owed_by(staff: Staff) -> str:
    """Return what someone who just signed in is to set first: asked now, not in a visit."""
    if selectors.owes_second_factor(staff=staff):
        return "second factor"
    is_short = staff.has_short_password and not selectors.has_second_factor(staff=staff)
    return "password" if is_short else ""


def _idle_seconds(staff: Staff) -> int:
    return selectors.policy_in_force(salon=staff.salon).idle_lock_minutes * 60
