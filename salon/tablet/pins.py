"""What a PIN may be, and how it is hashed and compared."""

import datetime as dt
from itertools import pairwise

from django.conf import settings
from django.contrib.auth.hashers import check_password, make_password
from django.utils.crypto import salted_hmac
from django.utils.translation import gettext as _

LENGTH = 6
# Columns, diagonals and corners of a number pad. Common practice, no source.
PAD_PATHS = frozenset(
    {"147258", "258369", "147369", "159357", "159753", "357159", "741852", "852963", "123789"}
    | {"456789", "789456", "123321", "321123", "112233", "332211", "445566", "778899"}
)
BIRTH_YEARS = range(1925, 2030)


def weakness(pin: str) -> str | None:
    """Return why a PIN of six digits is too easy to guess, or None."""
    steps = {(int(b) - int(a)) % 10 for a, b in pairwise(pin)}
    repeats = pin in {pin[:2] * 3, pin[:3] * 2} or len(set(pin)) == 2
    is_year = int(pin[:4]) in BIRTH_YEARS or int(pin[2:]) in BIRTH_YEARS
    for is_weak, reason in (
        (steps == {0}, _("All its digits are the same.")),
        (steps in ({1}, {9}), _("Its digits follow one another.")),
        (repeats, _("It repeats itself.")),
        (pin in PAD_PATHS, _("It follows the keys on the pad.")),
        (is_year, _("It looks like a year of birth.")),
        (_is_date(pin), _("It looks like a date.")),
    ):
        if is_weak:
            return reason
    return None


def _is_date(pin: str) -> bool:
    """Return whether the digits read as a day, in one of the usual three orders."""
    for form in ("%d%m%y", "%m%d%y", "%y%m%d"):
        try:
            dt.datetime.strptime(pin, form)  # noqa: DTZ007  only whether it is one
        except ValueError:
            continue
        return True
    return False


def hashed(*, staff_id: int, pin: str) -> str:
    """Return the slow hash of a PIN, for the database."""
    return make_password(_peppered(staff_id, pin, settings.SECRET_KEY))


def matches(*, staff_id: int, pin: str, secret: str | None) -> bool:
    """Return whether the PIN is right; takes as long where there is none to compare with."""
    if secret is None:
        # As for a password of somebody unknown: the same work, whatever the answer.
        make_password(_peppered(staff_id, pin, settings.SECRET_KEY))
        return False
    keys = [settings.SECRET_KEY, *settings.SECRET_KEY_FALLBACKS]
    return any(check_password(_peppered(staff_id, pin, key), secret) for key in keys)


def _peppered(staff_id: int, pin: str, key: str) -> str:
    """Mix in a key that is not in the database: a million hashes are soon tried without it."""
    return salted_hmac(
        "salon.pin", f"{staff_id}:{pin}", secret=key, algorithm="sha256"
    ).hexdigest()
