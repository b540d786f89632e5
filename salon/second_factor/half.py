"""Between the two steps of a sign-in: whose password was right, kept in the session."""

import datetime as dt
from typing import TypedDict

from django.http import HttpRequest
from django.utils.crypto import constant_time_compare

from salon import selectors
from salon.models import Staff

KEY = "half_signed_in"
LONGEST = dt.timedelta(minutes=10)


class Half(TypedDict):
    """What the session keeps of a sign-in that waits for its second step."""

    staff: int
    key: str  # changes with the password: a new one ends the wait
    at: float  # when the password was right [s since 1970]
    next: str  # where they wanted to go


def begin(request: HttpRequest, staff: Staff, *, back: str, at: dt.datetime) -> None:
    """Keep that somebody's password was right, and where they wanted to go."""
    half: Half = {
        "staff": staff.pk,
        "key": staff.get_session_auth_hash(),
        "at": at.timestamp(),
        "next": back,
    }
    request.session[KEY] = half


def whose(request: HttpRequest, *, at: dt.datetime) -> Staff | None:
    """Return whose second step is due; None if that is too long ago or no longer good."""
    kept: Half | None = request.session.get(KEY)
    if not kept or at.timestamp() - kept["at"] > LONGEST.total_seconds():
        return None
    staff = selectors.active_member(pk=kept["staff"])
    if staff is None or not constant_time_compare(staff.get_session_auth_hash(), kept["key"]):
        return None
    return staff


def back(request: HttpRequest) -> str:
    """Return where they wanted to go."""
    return str(request.session.get(KEY, {}).get("next", ""))
