"""The two ceremonies of WebAuthn, by `fido2`: a passkey is made, a passkey signs.

Each begins with a challenge that is kept in the session, counts once and for five minutes. The
authenticator must have verified its user (fingerprint, face or its own PIN): possession and
that are two factors.
"""

import dataclasses
import datetime as dt
import json
import os
from typing import Any, NotRequired, TypedDict
from urllib.parse import urlsplit

from django.conf import settings
from django.http import HttpRequest
from fido2.server import Fido2Server
from fido2.utils import websafe_decode, websafe_encode
from fido2.webauthn import (
    AttestedCredentialData,
    AuthenticationResponse,
    PublicKeyCredentialRpEntity,
    PublicKeyCredentialUserEntity,
    ResidentKeyRequirement,
    UserVerificationRequirement,
)

from salon.models import Passkey, Staff

KEY = "passkey_ceremony"
LONGEST = dt.timedelta(minutes=5)  # WebAuthn Level 3, 15.1, for a ceremony with verification
MAKE, SIGN = "make", "sign"
REQUIRED = UserVerificationRequirement.REQUIRED


@dataclasses.dataclass(frozen=True)
class Registered:
    """A passkey that has just been made; bytes as base64url."""

    credential_id: str
    credential: str
    user_handle: str
    sign_count: int


class Challenge(TypedDict):
    """What a ceremony keeps in the session until it ends."""

    kind: str  # MAKE or SIGN
    state: dict[str, Any]  # as `fido2` gives it and takes it again
    at: float  # when it began [s since 1970]
    staff: NotRequired[int]  # whose passkey is made
    handle: NotRequired[str]  # their user handle, as base64url


def rp_id() -> str:
    """Return the name that passkeys are bound to: the salon's address without the rest."""
    return urlsplit(settings.SITE_URL).hostname or "localhost"


def is_own_origin(origin: str) -> bool:
    """Return whether a page of this origin is one of the product's."""
    parts, own = urlsplit(origin), rp_id()
    host = parts.hostname or ""
    if host != own and not host.endswith(f".{own}"):
        return False
    if settings.LOCAL:  # on one machine, on whatever port
        return parts.scheme in {"http", "https"}
    hosts = (f"https://{name.lstrip('.')}" for name in settings.ALLOWED_HOSTS if name != "*")
    site = "{0.scheme}://{0.netloc}".format(urlsplit(settings.SITE_URL))
    return origin in {site, *hosts, *settings.CSRF_TRUSTED_ORIGINS}


def works_here(request: HttpRequest) -> bool:
    """Return whether a browser can use a passkey at the address that it has asked."""
    return is_own_origin(f"{request.scheme}://{request.get_host()}")


def begin_making(request: HttpRequest, staff: Staff, *, at: dt.datetime) -> dict[str, Any]:
    """Return what `navigator.credentials.create` needs, as plain data."""
    own = list(Passkey.objects.filter(staff=staff))
    handle = own[0].user_handle if own else websafe_encode(os.urandom(32))
    user = PublicKeyCredentialUserEntity(
        id=websafe_decode(handle), name=staff.username, display_name=staff.display_name
    )
    options, state = _server(staff.salon.name).register_begin(
        user,
        [credential_of(passkey) for passkey in own],
        resident_key_requirement=ResidentKeyRequirement.REQUIRED,
        user_verification=REQUIRED,
    )
    kept = _challenge(MAKE, state, at)
    request.session[KEY] = {**kept, "handle": handle, "staff": staff.pk}
    return _plain(options)


def finish_making(
    request: HttpRequest, staff: Staff, answer: str, *, at: dt.datetime
) -> Registered | None:
    """Return the passkey that was made, or None where the answer does not hold."""
    kept = _take(request, MAKE, at)
    if kept is None or kept.get("staff") != staff.pk:
        return None
    try:
        data = _server().register_complete(kept["state"], json.loads(answer))
    except (ValueError, KeyError, TypeError, AttributeError):
        return None
    credential = data.credential_data
    if credential is None or not data.is_user_verified():
        return None
    return Registered(
        credential_id=websafe_encode(credential.credential_id),
        credential=websafe_encode(bytes(credential)),
        user_handle=kept.get("handle", ""),
        sign_count=data.counter,
    )


def begin_signing(
    request: HttpRequest, staff: Staff | None, *, at: dt.datetime
) -> dict[str, Any]:
    """Return what `navigator.credentials.get` needs; of nobody in particular, any passkey."""
    own = [credential_of(passkey) for passkey in Passkey.objects.filter(staff=staff)]
    options, state = _server().authenticate_begin(own or None, user_verification=REQUIRED)
    request.session[KEY] = _challenge(SIGN, state, at)
    return _plain(options)


def finish_signing(
    request: HttpRequest, passkey: Passkey, answer: str, *, at: dt.datetime
) -> int | None:
    """Return the counter that a passkey has signed, or None where its answer does not hold."""
    kept = _take(request, SIGN, at)
    if kept is None:
        return None
    try:
        answered = AuthenticationResponse.from_dict(json.loads(answer))
        _server().authenticate_complete(kept["state"], [credential_of(passkey)], answered)
    except (ValueError, KeyError, TypeError, AttributeError):
        return None
    # An authenticator that was given a list of passkeys may leave out whose this one is.
    handle = answered.response.user_handle
    if handle and websafe_encode(handle) != passkey.user_handle:
        return None
    return int(answered.response.authenticator_data.counter)


def named_by(answer: str) -> str:
    """Return which passkey an answer says that it is of; empty where it says none."""
    try:
        answered = json.loads(answer)
    except ValueError:
        return ""
    name = answered.get("id") if isinstance(answered, dict) else ""
    return name if isinstance(name, str) else ""


def credential_of(passkey: Passkey) -> AttestedCredentialData:
    """Return a passkey's public key as the library takes it."""
    return AttestedCredentialData(websafe_decode(passkey.credential))


def _server(name: str = "") -> Fido2Server:
    rp = PublicKeyCredentialRpEntity(id=rp_id(), name=name or rp_id())
    return Fido2Server(rp, attestation=None, verify_origin=is_own_origin)


def _challenge(kind: str, state: dict[str, Any], at: dt.datetime) -> Challenge:
    plain = {name: value and str(value) for name, value in state.items()}
    plain["user_verification"] = REQUIRED.value
    return {"kind": kind, "state": plain, "at": at.timestamp()}


def _take(request: HttpRequest, kind: str, at: dt.datetime) -> Challenge | None:
    """Return what a ceremony began with, and forget it for good: a challenge counts once."""
    kept: Challenge | None = request.session.pop(KEY, None)
    if not kept:
        return None
    request.session.save()
    is_late = at.timestamp() - kept["at"] > LONGEST.total_seconds()
    return None if is_late or kept["kind"] != kind else kept


def _plain(options: Any) -> dict[str, Any]:
    plain: dict[str, Any] = json.loads(json.dumps(dict(options), default=dict))
    return plain
