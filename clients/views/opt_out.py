"""The page behind the link that ends reminders; no login."""

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods

from clients import services
from clients.messages import opt_out
from clients.models import ConsentKind
from clients.people import consent_texts
from salon import languages
from salon.access import open_when_locked


# A mail programme sends RFC 8058's one click without cookies: the signed token is the proof.
@open_when_locked
@login_not_required
@csrf_exempt
@require_http_methods(["GET", "HEAD", "POST"])
def stop_reminders(request: HttpRequest, token: str) -> HttpResponse:
    """Ask on GET, since programmes follow links by themselves; end reminders on POST."""
    client = opt_out.client_of(token)
    if client is None:
        return _closed(render(request, "clients/stop_reminders_broken.html", status=404))
    is_done = request.method == "POST"
    if is_done:
        services.stop_reminders(client=client, at=timezone.now())
    context = {
        "client_salon": client.salon,
        "wording": consent_texts.consent_wording(client, ConsentKind.REMINDERS),
        "is_done": is_done,
    }
    with languages.speaking(client.speaks(client.salon)) as language:
        response = render(request, "clients/stop_reminders.html", context)
        response["Content-Language"] = language
    return _closed(response)


def _closed(response: HttpResponse) -> HttpResponse:
    """Keep the address out of caches, other sites and search engines."""
    response["Cache-Control"] = "private, no-store"
    response["Referrer-Policy"] = "no-referrer"
    response["X-Robots-Tag"] = "noindex"
    return response
