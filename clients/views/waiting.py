"""The waiting list: who would come if a time became free."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from clients import access, selectors, services
from clients.forms import WaitingForm
from salon.access import DESK, SalonRequest, allow
from salon.attempts import press
from salon.numbers import row_number
from salon.submissions import once


@allow(DESK)
@require_GET
def waiting(request: SalonRequest) -> HttpResponse:
    """Show who waits, longest first."""
    day = selectors.today(salon=request.salon, at=timezone.now())
    entries = selectors.waiting_list(salon=request.salon, day=day)
    return render(request, "clients/waiting.html", {"entries": entries, "today": day})


@allow(DESK)
@once
@require_http_methods(["GET", "POST"])
def add_waiting(request: SalonRequest) -> HttpResponse:
    """Put a client on the waiting list."""
    number = row_number(request.POST.get("client") or request.GET.get("client", ""))
    if number is None:
        return redirect("clients:find")
    client = access.client_or_404(request, number)
    now = timezone.now()
    form = WaitingForm(
        request.POST if request.method == "POST" else None,
        salon=request.salon,
        today=selectors.today(salon=request.salon, at=now),
    )
    if request.method == "POST" and form.is_valid():
        services.add_waiting(client=client, by=request.user, at=now, **form.cleaned_data)
        messages.success(request, _("%(name)s is on the waiting list.") % {"name": client})
        return redirect("clients:waiting")
    context = {"client": client, "form": form}
    return render(
        request, "clients/add_waiting.html", context, status=422 if form.errors else 200
    )


@allow(DESK)
@require_POST
def withdraw_waiting(request: SalonRequest, pk: int) -> HttpResponse:
    """Take a client off the list without a booking."""
    entry = access.waiting_or_404(request, pk)
    tried = press(
        request,
        lambda: services.close_waiting(entry=entry, by=request.user, at=timezone.now()),
    )
    if tried.saved:
        messages.success(request, _("Removed from the waiting list."))
    return redirect("clients:waiting")
