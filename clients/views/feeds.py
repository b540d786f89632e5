"""The stylist's calendar for other programmes, behind a secret address."""

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from clients import services
from clients.messages import ical
from clients.selectors import feeds as selectors
from salon.access import BENCH, SalonRequest, allow, open_when_locked


@open_when_locked
@login_not_required
@require_GET
def feed(request: HttpRequest, token: str) -> HttpResponse:
    """Answer a calendar programme; the secret in the address is the only key."""
    stylist = selectors.stylist_of(token)
    if stylist is None:
        raise Http404(_("This address is not in use."))
    now = timezone.now()
    body = ical.calendar(
        stylist=stylist,
        appointments=selectors.calendar_appointments(stylist=stylist, at=now),
        at=now,
    )
    response = HttpResponse(body, content_type="text/calendar; charset=utf-8")
    response["Cache-Control"] = "private, no-store"
    response["Referrer-Policy"] = "no-referrer"
    response["X-Robots-Tag"] = "noindex"
    return response


@allow(BENCH, by_pin=False)
@require_http_methods(["GET", "POST"])
def own_feed(request: SalonRequest) -> HttpResponse:
    """Create the secret address of one's own calendar; it is shown once."""
    address = ""
    if request.method == "POST":
        token = services.open_feed(by=request.user, at=timezone.now())
        address = request.build_absolute_uri(reverse("clients:feed", args=[token]))
    context = {"address": address, "feed": selectors.feed_in_force(stylist=request.user)}
    return render(request, "clients/own_feed.html", context)


@allow(BENCH, by_pin=False)
@require_POST
def close_feed(request: SalonRequest) -> HttpResponse:
    """Take the address back."""
    services.close_feeds(by=request.user, at=timezone.now())
    messages.success(request, _("The address no longer works."))
    return redirect("clients:own_feed")
