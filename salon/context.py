"""What every page needs: where the reader may go."""

from typing import Any

from django.http import HttpRequest
from django.urls import NoReverseMatch, reverse
from django.utils.translation import gettext as _

from salon import languages
from salon.models import Role
from salon.tablet import sitting as sittings
from salon.tablet.forms import UnlockForm

_ALL = (Role.RECEPTIONIST, Role.STYLIST, Role.OWNER)
_BENCH = (Role.STYLIST, Role.OWNER)


def _places() -> list[tuple[str, str, tuple[Role, ...]]]:
    return [
        (_("Today"), "consult:today", _BENCH),
        (_("Diary"), "clients:day", _ALL),
        (_("Clients"), "clients:find", _ALL),
        (_("Patch tests"), "clients:patch_worklist", _ALL),
        (_("Results"), "consult:histories", (Role.OWNER,)),
        (_("Lines"), "formulas:lines", _BENCH),
        (_("How it is calculated"), "formulas:explanation", _BENCH),
        (_("Salon"), "salon:house", (Role.OWNER,)),
    ]


def navigation(request: HttpRequest) -> dict[str, Any]:
    """Return the places that the reader's role opens, and the languages on offer."""
    if not getattr(request, "user", None) or not request.user.is_authenticated:
        return {"nav": [], "languages": languages.choices()}
    role = request.user.role
    nav = []
    for label, name, roles in _places():
        if role not in roles:
            continue
        try:
            href = reverse(name)
        except NoReverseMatch:
            continue
        nav.append({"label": label, "href": href, "current": request.path.startswith(href)})
    return {"nav": nav, "languages": languages.choices()}


def sitting(request: HttpRequest) -> dict[str, Any]:
    """Return `sitting` and the form that unlocks it; nothing where nobody is signed in."""
    if not getattr(request, "user", None) or not request.user.is_authenticated:
        return {}
    held = sittings.read(request)
    if held is None:
        return {}
    form = UnlockForm(can_pin=held.can_pin, auto_id="cover_%s")
    return {"sitting": held, "cover_form": form}
