"""The owner's page about what runs outside of requests."""

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from salon.access import OWNER, SalonRequest, allow
from salon.attempts import press
from salon.mailing import status as mailing
from salon.mailing import trial
from salon.submissions import once
from salon.work import status


@allow(OWNER)
@require_GET
def work(request: SalonRequest) -> HttpResponse:
    """Show when the worker was last seen, what waits, and the timetable."""
    context = {
        "queue": status.queue(),
        "jobs": status.jobs(),
        "mail": mailing.mail_status(salon=request.salon),
        "test": mailing.last_test(salon=request.salon),
    }
    return render(request, "salon/work.html", context)


@allow(OWNER)
@require_POST
@once
def test_mail(request: SalonRequest) -> HttpResponse:
    """Send a test mail to whoever asks; the page says what became of it."""
    press(request, lambda: trial.send_test_mail(by=request.user, at=timezone.now()))
    return redirect("salon:work")
