"""The product on a tablet's home screen: manifest, service worker, the page without network.

Everything here is the same for everyone, signed in or not, and names no salon.
"""

import hashlib
import json
from functools import cache

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.templatetags.static import static
from django.urls import reverse
from django.utils.translation import get_language, get_language_bidi
from django.utils.translation import gettext as _
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_safe

WORKER = settings.BASE_DIR / "static" / "js" / "service_worker.js"
# What the page without network is drawn with.
OFFLINE_NEEDS = (
    "bundles/common.css",
    "js/theme.js",
    "js/offline.js",
    "img/mark.svg",
    "vendor/fonts/literata/latin.woff2",
    "vendor/fonts/source-sans-3/latin.woff2",
)
ICONS = (
    ("img/icon-192.png", 192, "any"),
    ("img/icon-512.png", 512, "any"),
    ("img/icon-maskable-512.png", 512, "maskable"),
)
CERTIFICATE = "/trust/root.crt"  # given out by the proxy, whose authority it is
# --g-100 and --g-95 of static/css/tokens.css: the bar and the paper, light.
THEME_COLOUR = "#ffffff"
BACKGROUND_COLOUR = "#f1f1f1"


@login_not_required
@require_safe
@cache_control(no_cache=True)
def manifest(request: HttpRequest) -> HttpResponse:
    """Say what the home screen shows and where it leads."""
    return JsonResponse(
        {
            "id": "/",
            "name": _("Salon colour record"),
            "short_name": _("Colour record"),
            "lang": get_language(),
            "dir": "rtl" if get_language_bidi() else "ltr",
            "start_url": "/",
            "scope": "/",
            "display": "standalone",
            "theme_color": THEME_COLOUR,
            "background_color": BACKGROUND_COLOUR,
            "icons": [
                {
                    "src": static(path),
                    "sizes": f"{size}x{size}",
                    "type": "image/png",
                    "purpose": purpose,
                }
                for path, size, purpose in ICONS
            ],
        },
        content_type="application/manifest+json",
    )


@login_not_required
@require_safe
@cache_control(no_cache=True)
def service_worker(request: HttpRequest) -> HttpResponse:
    """Serve the worker with the addresses that this release may keep."""
    kept = _kept()
    code = WORKER.read_text()
    stamp = hashlib.sha256(f"{json.dumps(kept)}{code}{_release()}".encode()).hexdigest()[:12]
    head = json.dumps({**kept, "cache": f"static-{stamp}"})
    return HttpResponse(
        f"self.KEPT = {head};\n{code}",
        content_type="text/javascript; charset=utf-8",
        headers={"Service-Worker-Allowed": "/"},
    )


@login_not_required
@require_safe
@cache_control(no_cache=True)
def offline(request: HttpRequest) -> HttpResponse:
    """Draw the page that stands in for one that the network did not bring."""
    return render(request, "salon/offline.html")


@login_not_required
@require_safe
def trust(request: HttpRequest) -> HttpResponse:
    """Say how a device comes to trust the authority of the salon's own network.

    Also over plain HTTP: a device that does not trust the address yet has no other way. Where
    every device trusts the address there is nothing to say.
    """
    if not settings.OWN_AUTHORITY:
        return redirect("salon:home")
    context = {
        "address": settings.SITE_URL,
        "certificate": CERTIFICATE,
    }
    return render(request, "salon/trust.html", context)


def _kept() -> dict[str, object]:
    return {
        "offline": reverse("salon:offline"),
        "needs": [static(path) for path in OFFLINE_NEEDS],
        "static": settings.STATIC_URL,
        # Under hashed names a file never changes. On a developer's machine it does: there the
        # network comes first.
        "versioned": not settings.LOCAL,
    }


@cache
def _release() -> str:
    """Return what changes with every release: the static files' names, or the page's text."""
    from django.contrib.staticfiles.storage import staticfiles_storage

    page = settings.BASE_DIR / "templates" / "salon" / "offline.html"
    return f"{getattr(staticfiles_storage, 'manifest_hash', '')}{page.read_text()}"
