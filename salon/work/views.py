"""The owner's page about what runs outside of requests."""

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from salon.access import OWNER, SalonRequest, allow
from salon.work import status


@allow(OWNER)
@require_GET
def work(request: SalonRequest) -> HttpResponse:
    """Show when the worker was last seen, what waits, and the timetable."""
    context = {"queue": status.queue(), "jobs": status.jobs()}
    return render(request, "salon/work.html", context)
