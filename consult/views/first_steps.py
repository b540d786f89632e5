"""The owner's first steps in an empty salon, and the demo to try beside it."""

from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from consult.demo import cast
from consult.demo.fill import fill
from consult.screens import first_steps as guide
from consult.screens.first_steps_lead import OPEN
from salon import selectors, services
from salon.access import OWNER, SalonRequest, allow


@allow(OWNER, by_pin=True)
@require_GET
def start(request: SalonRequest) -> HttpResponse:
    """Lead the owner to the first steps while the salon is empty, then to the histories."""
    leads = guide.lead_home(salon=request.salon)
    return redirect("consult:first_steps" if leads else "consult:histories")


@allow(OWNER, by_pin=True)
@require_GET
def first_steps(request: SalonRequest) -> HttpResponse:
    """Show what is done and what is next."""
    steps = guide.steps(salon=request.salon)
    waiting = [step.key for step in steps if not step.is_done]
    if request.session.get(OPEN) != waiting:
        request.session[OPEN] = waiting
    context = {
        "first_steps": steps,
        "done": sum(step.is_done for step in steps),
        "next_step": next((step for step in steps if not step.is_done), None),
    }
    return render(request, "consult/first_steps.html", context)


@allow(OWNER)
@require_POST
def decline(request: SalonRequest, first_step: str) -> HttpResponse:
    """Do without a step that a salon can do without."""
    if first_step not in guide.MAY_DECLINE:
        raise Http404(_("This step is needed."))
    services.decline_first_step(step=first_step, by=request.user, at=timezone.now())
    return redirect("consult:first_steps")


@allow(OWNER)
@require_POST
def put_away(request: SalonRequest) -> HttpResponse:
    """Start the owner's day elsewhere from now on."""
    request.session.pop(OPEN, None)
    services.put_first_steps_away(by=request.user, at=timezone.now())
    messages.info(request, _("Hidden. You find the first steps on the salon's page."))
    return redirect("salon:home")


@allow(OWNER)
@require_http_methods(["GET", "POST"])
def try_demo(request: SalonRequest) -> HttpResponse:
    """Say how the demo is tried; on a local installation, fill it beside this salon.

    It has public passwords and so is never offered where a real salon can be reached.
    """
    exists = settings.LOCAL and selectors.is_taken(username=cast.OWNER.username)
    if request.POST.get("fill") and settings.LOCAL and not exists:
        fill(now=timezone.now())
        return redirect("consult:try_demo")
    people = [(cast.OWNER, _("owner")), *((m, "") for m in cast.TEAM)] if exists else []
    context = {"is_local": settings.LOCAL, "exists": exists, "people": people,
               "password": cast.PASSWORD, "demo": cast.SALON["name"]}  # fmt: skip
    return render(request, "consult/try_demo.html", context)
