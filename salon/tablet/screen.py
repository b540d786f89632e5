"""The verdict of the last check of a screen, kept with the device or else by the browser."""

import datetime as dt
from dataclasses import dataclass

from django.conf import settings
from django.http import HttpRequest, HttpResponseBase
from django.utils.translation import gettext_lazy as _

from salon.models import Device, ScreenVerdict
from salon.tablet.cookie import LIFE_SECONDS

COOKIE = "salon-screen"
# What to do, in plain words, for each verdict.
ADVICE = {
    ScreenVerdict.TRUSTED: _(
        "You can trust this screen. It shows hair colours apart that differ a little. "
        "A strand test still decides."
    ),
    ScreenVerdict.NIGHT_MODE: _(
        "Turn night mode off. Yellow and neutral look alike on this screen, as they do under "
        "night mode or a blue light filter. Then check again."
    ),
    ScreenVerdict.TOO_DIM: _(
        "Make the screen brighter. Small steps look alike on it. Turn up the brightness, keep "
        "light from falling on it, then check again."
    ),
    ScreenVerdict.UNFIT: _(
        "Do not judge colour on this screen. Show the choice on another one, or hold real "
        "strands beside it."
    ),
}


@dataclass(frozen=True)
class Checked:
    """A verdict and when it was reached."""

    verdict: ScreenVerdict
    at: dt.datetime

    @property
    def advice(self) -> str:
        """What to do about this screen."""
        return str(ADVICE[self.verdict])


def last_check(request: HttpRequest, device: Device | None) -> Checked | None:
    """Return the last check of the screen that the page is open on, or None."""
    if device is not None:
        if device.screen_checked_at is None:
            return None
        return Checked(ScreenVerdict(device.screen_verdict), device.screen_checked_at)
    kept = request.get_signed_cookie(COOKIE, default="", max_age=LIFE_SECONDS)
    verdict, _sign, at = str(kept).partition(" ")
    try:
        return Checked(ScreenVerdict(verdict), dt.datetime.fromisoformat(at))
    except ValueError:
        return None


def keep_in_browser(response: HttpResponseBase, checked: Checked) -> None:
    """Let a browser that is not enrolled keep its verdict; no script can change it."""
    response.set_signed_cookie(
        COOKIE,
        f"{checked.verdict} {checked.at.isoformat()}",
        max_age=LIFE_SECONDS,
        secure=settings.SESSION_COOKIE_SECURE,
        httponly=True,
        samesite="Lax",
    )
