"""The salon's logo: kept small beside the salon, shown on papers and where one signs in."""

import base64

from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from salon.models import Salon, SalonLogo


def of_salon(salon: Salon) -> SalonLogo | None:
    """Return the salon's logo, if it has one."""
    return SalonLogo.objects.filter(salon=salon).first()


def of_this_place() -> SalonLogo | None:
    """Return the logo for someone who is not signed in: of the only salon there is."""
    found = list(SalonLogo.objects.all()[:2]) if Salon.objects.count() == 1 else []
    return found[0] if found else None


def as_data(salon: Salon) -> str:
    """Return the logo as a data address, for paper; empty where there is none."""
    logo = of_salon(salon)
    if logo is None:
        return ""
    return "data:image/jpeg;base64," + base64.b64encode(bytes(logo.content)).decode()


@login_not_required
@require_safe
def picture(request: HttpRequest) -> HttpResponse:
    """Give the logo: of one's own salon, else of the only one there is."""
    salon = getattr(request, "salon", None)
    logo = of_salon(salon) if salon else of_this_place()
    if logo is None:
        raise Http404(_("This salon has no logo."))
    return HttpResponse(bytes(logo.content), content_type="image/jpeg")
