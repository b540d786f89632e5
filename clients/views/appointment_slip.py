"""What a client takes home of a booking: a slip to print, and a file for their calendar."""

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from clients import access
from clients.messages import ical
from clients.models import AccessKind
from salon import languages
from salon.access import DESK, SalonRequest, allow


@allow(DESK, shows=AccessKind.PAPER)
@require_GET
def slip(request: SalonRequest, pk: int) -> HttpResponse:
    """Show the slip of an appointment, in the client's language."""
    appointment = access.appointment_or_404(request, pk)
    context = {"appointment": appointment, "spoken": appointment.client.speaks(request.salon)}
    return render(request, "clients/appointment_slip.html", context)


@allow(DESK)
@require_GET
def calendar_file(request: SalonRequest, pk: int) -> HttpResponse:
    """Return the appointment as a calendar file (RFC 5545) for the client."""
    appointment = access.appointment_or_404(request, pk)
    with languages.speaking(appointment.client.speaks(request.salon)):
        body = ical.for_client(appointment=appointment, at=timezone.now())
    response = HttpResponse(body, content_type="text/calendar; charset=utf-8")
    response["Content-Disposition"] = f'attachment; filename="appointment-{appointment.pk}.ics"'
    return response
