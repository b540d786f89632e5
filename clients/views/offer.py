"""What can be booked, kept by the owner: services, chairs and the week's hours."""

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_GET, require_http_methods

from clients import access, selectors, services
from clients.diary import opening
from clients.forms import ChairForm, NewChairForm, NewServiceForm, ServiceForm, WeekForm
from salon.access import OWNER, SalonRequest, allow
from salon.attempts import attempt
from salon.submissions import once

# What the first steps propose for placing and reading a test.
_TEST_VISIT: dict[str, object] = {
    "name": gettext_lazy("Patch test"),
    "application_minutes": 10,
    "is_colour": False,
    "is_patch_test": True,
}


@allow(OWNER)
@require_GET
def offer(request: SalonRequest) -> HttpResponse:
    """Show every service and chair, also those out of use."""
    context = {
        "services": selectors.all_services(salon=request.salon),
        "chairs": selectors.all_chairs(salon=request.salon),
    }
    return render(request, "clients/offer.html", context)


@allow(OWNER)
@once
@require_http_methods(["GET", "POST"])
def add_service(request: SalonRequest) -> HttpResponse:
    """Offer another service."""
    initial = _TEST_VISIT if request.GET.get("kind") == "test" else {}
    form = NewServiceForm(request.POST or None, salon=request.salon, initial=initial)
    tried = attempt(
        request,
        form,
        lambda data: services.add_service(by=request.user, at=timezone.now(), **data),
    )
    if tried.result:
        messages.success(request, _("%(name)s can be booked.") % {"name": tried.result.name})
        return redirect("clients:offer")
    return _page(request, form, _("Add a service"))


@allow(OWNER)
@require_http_methods(["GET", "POST"])
def change_service(request: SalonRequest, pk: int) -> HttpResponse:
    """Change a service, or take it out of use."""
    service = access.service_or_404(request, pk)
    form = ServiceForm(request.POST or None, instance=service, salon=request.salon)
    tried = attempt(
        request,
        form,
        lambda data: services.change_service(
            service=access.service_or_404(request, pk),
            by=request.user,
            at=timezone.now(),
            **data,
        ),
    )
    if tried.saved:
        messages.success(request, _("Saved. Existing bookings stay."))
        return redirect("clients:offer")
    return _page(request, form, _("Change a service"))


@allow(OWNER)
@once
@require_http_methods(["GET", "POST"])
def add_chair(request: SalonRequest) -> HttpResponse:
    """Add a chair."""
    form = NewChairForm(request.POST or None, salon=request.salon)
    if request.method == "POST" and form.is_valid():
        services.add_chair(by=request.user, at=timezone.now(), **form.cleaned_data)
        messages.success(request, _("The chair can be booked."))
        return redirect("clients:offer")
    return _page(request, form, _("Add a chair"))


@allow(OWNER)
@require_http_methods(["GET", "POST"])
def change_chair(request: SalonRequest, pk: int) -> HttpResponse:
    """Rename a chair, or take it out of use."""
    chair = access.chair_or_404(request, pk)
    form = ChairForm(request.POST or None, instance=chair, salon=request.salon)
    if request.method == "POST" and form.is_valid():
        services.change_chair(
            chair=access.chair_or_404(request, pk),
            by=request.user,
            at=timezone.now(),
            **form.cleaned_data,
        )
        messages.success(request, _("Saved. Existing bookings stay."))
        return redirect("clients:offer")
    return _page(request, form, _("Change a chair"))


@allow(OWNER)
@require_http_methods(["GET", "POST"])
def set_week(request: SalonRequest) -> HttpResponse:
    """Set the hours of the whole week at once."""
    week = opening.week_of(salon=request.salon)
    form = WeekForm(request.POST or None, week=week)
    if request.method == "POST" and form.is_valid():
        services.set_week(week=form.hours(), by=request.user, at=timezone.now())
        messages.success(request, _("Saved. Existing bookings stay."))
        return redirect("clients:hours")
    status = 422 if form.errors else 200
    return render(request, "clients/week_hours.html", {"form": form}, status=status)


def _page(request: SalonRequest, form: forms.BaseForm, title: str) -> HttpResponse:
    context: dict[str, object] = {"form": form, "title": title}
    status = 422 if form.errors else 200
    return render(request, "clients/offer_form.html", context, status=status)
