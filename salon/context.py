"""What every page needs: where the reader may go."""

from django.http import HttpRequest
from django.urls import reverse

from salon import languages, registry
from salon.release import release
from salon.tablet import sitting as sittings
from salon.tablet.forms import UnlockForm


def navigation(request: HttpRequest) -> dict[str, object]:
    """Return the places that the reader's role opens, what is in the bar, the languages."""
    if not getattr(request, "user", None) or not request.user.is_authenticated:
        return {"nav": [], "languages": languages.choices()}
    nav = []
    for place in registry.places_of(request.user.role):
        href = reverse(place.url_name)
        is_here = request.path.startswith(href)
        nav.append({"label": place.label, "href": href, "current": is_here})
    return {
        "nav": nav,
        "bar_tools": registry.bar_tools(),
        "languages": languages.choices(),
    }


def sitting(request: HttpRequest) -> dict[str, object]:
    """Return `sitting` and the form that unlocks it; nothing where nobody is signed in."""
    if not getattr(request, "user", None) or not request.user.is_authenticated:
        return {}
    held = sittings.read(request)
    if held is None:
        return {}
    form = UnlockForm(can_pin=held.can_pin, has_passkey=held.has_passkey, auto_id="cover_%s")
    return {"sitting": held, "cover_form": form}


def release_in_use(request: HttpRequest) -> dict[str, object]:
    """Return `release`, by which a page that stays open notices a newer one."""
    signed_in = getattr(request, "user", None) and request.user.is_authenticated
    return {"release": release()} if signed_in else {}


def age_of_figures(request: HttpRequest) -> dict[str, object]:
    """Return `figures_at`, until when a page read from a replica is complete."""
    figures_at = getattr(request, "figures_at", None)
    return {"figures_at": figures_at} if figures_at else {}
