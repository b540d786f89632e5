"""Who may open what. Every view carries one of these, decided before anything is drawn."""

from collections.abc import Callable
from functools import wraps
from typing import Any, TypeVar

from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import ObjectDoesNotExist, PermissionDenied
from django.db import models
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.urls import reverse
from django.utils.translation import gettext as _
from django_htmx.middleware import HtmxDetails

from salon.models import Device, PreparedFile, Role, Salon, Staff

DESK = frozenset({Role.RECEPTIONIST, Role.STYLIST, Role.OWNER})
BENCH = frozenset({Role.STYLIST, Role.OWNER})
FRONT = frozenset({Role.RECEPTIONIST, Role.OWNER})
OWNER = frozenset({Role.OWNER})

View = Callable[..., HttpResponseBase]
M = TypeVar("M", bound=models.Model)


class SalonRequest(HttpRequest):
    """A request of someone signed in; `salon` is set by the middleware."""

    user: Staff
    salon: Salon
    htmx: HtmxDetails
    witness: Staff | None  # a second person; set by `salon.tablet.witness.with_witness`


def allow(
    roles: frozenset[Role],
    *,
    also: Callable[[Staff], bool] | None = None,
    by_pin: bool | None = None,
    shows: str = "",
) -> Callable[[View], View]:
    """Return a decorator that lets only `roles` in; others are sent to sign in or refused.

    `also` says of a single person that an owner lets them in whatever their role. `by_pin`
    says whether a PIN is enough; unless it is given, it is for all but the owner's pages.
    `shows` names what of a client's records the page shows, so that the look is noted.
    """

    def decorate(view: View) -> View:
        @wraps(view)
        def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
            if not request.user.is_authenticated:
                return to_sign_in(request)
            user = request.user
            if user.role not in roles and not (also and also(user)):
                raise PermissionDenied(_("Your role cannot open this page."))
            response = view(request, *args, **kwargs)
            # Health data must not stay in a shared computer's cache or back button.
            response.headers.setdefault("Cache-Control", "no-store")
            return response

        guarded.allowed_roles = roles  # type: ignore[attr-defined]
        guarded.opens_by_pin = roles != OWNER if by_pin is None else by_pin  # type: ignore[attr-defined]
        guarded.shows = shows  # type: ignore[attr-defined]
        return guarded

    return decorate


def open_when_locked(view: View) -> View:
    """Mark a view that answers on a locked screen, since a secret link carries its right."""
    view.open_when_locked = True  # type: ignore[attr-defined]
    return view


def to_sign_in(request: HttpRequest) -> HttpResponse:
    """Return the answer to somebody who has not signed in, to a page or to a fragment."""
    if request.headers.get("HX-Request"):
        response = HttpResponse(status=401)
        response["HX-Redirect"] = reverse("salon:sign_in")
        return response
    return redirect_to_login(request.get_full_path())


def one_or_404(queryset: models.QuerySet[M], **lookup: Any) -> M:
    """Return the one row of an already salon-bound queryset, or raise 404."""
    try:
        return queryset.get(**lookup)
    except (ObjectDoesNotExist, ValueError, OverflowError):
        raise Http404(_("This page does not exist, or it belongs to another salon.")) from None


def staff_or_404(request: SalonRequest, pk: int) -> Staff:
    """Return a member of the request's salon."""
    return one_or_404(Staff.objects.in_salon(request.salon), pk=pk)


def device_or_404(request: SalonRequest, pk: int) -> Device:
    """Return a device of the request's salon that is still enrolled."""
    return one_or_404(Device.objects.in_salon(request.salon).in_force(), pk=pk)


def prepared_file_or_404(request: SalonRequest, pk: int) -> PreparedFile:
    """Return a file that the reader asked for; nobody else's is there."""
    own = PreparedFile.objects.filter(salon=request.salon, requested_by=request.user)
    return one_or_404(own.select_related("salon"), pk=pk)
