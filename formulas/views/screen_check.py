"""Whether the screen that the page is open on can be trusted with colour."""

import secrets
from typing import Any

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from formulas.forms.screen_check import ScreenCheckForm, seed_of, signed
from formulas.screen_check import dealt, differences_in, verdict
from salon.access import OWNER, SalonRequest, allow
from salon.submissions import once
from salon.tablet import cookie, screen, services


@allow(OWNER)
@once
@require_http_methods(["GET", "POST"])
def screen_check(request: SalonRequest) -> HttpResponse:
    """Show grey steps and pairs of hair colours; keep what the answers say of the screen."""
    form = ScreenCheckForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        return _kept(request, form.cleaned_data)
    seed = seed_of(request.POST.get("seed", ""))
    if seed is None:
        seed = secrets.randbelow(2**32)
    check = dealt(seed, salon=request.salon)
    device = cookie.device_of(request, request.salon)
    context = {
        "form": form,
        "seed": signed(seed),
        "check": check,
        "pairs": [(pair, form[f"pair_{n}"]) for n, pair in enumerate(check.pairs, start=1)],
        "device": device,
        "last": screen.last_check(request, device),
    }
    status = 422 if form.errors else 200
    return render(request, "formulas/screen_check.html", context, status=status)


def _kept(request: SalonRequest, cleaned: dict[str, Any]) -> HttpResponse:
    """Keep the verdict with the enrolled device, else in the browser; show it."""
    check = dealt(cleaned["seed"], salon=request.salon)
    found = verdict(
        check,
        dark_steps=cleaned["dark_steps"],
        light_steps=cleaned["light_steps"],
        differ=differences_in(cleaned),
    )
    now = timezone.now()
    device = cookie.device_of(request, request.salon)
    response = redirect("formulas:screen_check")
    if device is None:
        screen.keep_in_browser(response, screen.Checked(found, now))
    else:
        services.record_screen_check(device=device, verdict=found, by=request.user, at=now)
    return response
