"""The client's own card, as the desk hands it out: on paper or by e-mail."""

from django.contrib import messages
from django.http import HttpResponse, HttpResponseBadRequest
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST

from clients.access import appointment_or_404
from clients.models import AccessKind
from consult import access, policies, selectors, services
from consult.forms import MailAnswerForm
from consult.models import Visit
from consult.paper import mail_status
from salon.access import DESK, SalonRequest, allow
from salon.attempts import press
from salon.submissions import once


@allow(DESK, shows=AccessKind.PAPER)
@require_GET
def client_card(request: SalonRequest, pk: int) -> HttpResponse:
    """Offer the card of an appointment's closed visit, and nothing else of the visit."""
    appointment = appointment_or_404(request, pk)
    visit = selectors.closed_visit_of(appointment)
    if visit is None:
        messages.warning(request, _("You can print the card once the visit is closed."))
        return redirect("clients:appointment", pk)
    context = {"visit": visit, **mail_status.mail_context(visit)}
    return render(request, "consult/client_card.html", context)


@allow(DESK)
@once
@require_POST
def mail_card(request: SalonRequest, pk: int) -> HttpResponse:
    """Send the visit card to the client's own address, once."""
    visit = access.visit_or_404(request, pk)
    tried = press(
        request,
        lambda: services.mail_card(
            visit=visit,
            agrees=request.POST.get("agrees") == "on",
            by=request.user,
            at=timezone.now(),
        ),
    )
    if tried.saved:
        messages.success(
            request, _("The card is being sent. Look under Papers to see whether it went out.")
        )
    return _back(request, visit)


@allow(DESK)
@require_POST
def settle_mail(request: SalonRequest, pk: int, mail: int) -> HttpResponse:
    """Decide about a mail that nobody saw leave."""
    visit = access.visit_or_404(request, pk)
    row = access.mail_or_404(visit, mail)
    form = MailAnswerForm(request.POST)
    if not form.is_valid():
        return HttpResponseBadRequest()
    tried = press(
        request,
        lambda: services.settle_mail(
            mail=row, answer=form.cleaned_data["answer"], by=request.user, at=timezone.now()
        ),
    )
    if tried.saved:
        messages.success(request, _("Saved."))
    return _back(request, visit)


def _back(request: SalonRequest, visit: Visit) -> HttpResponse:
    """Return to the visit, or where that is not open to the reader, to its card."""
    if policies.can_work_on(by=request.user, visit=visit):
        return redirect("consult:visit", visit.pk)
    if visit.has_ended:
        return redirect("consult:client_card", visit.appointment_id)
    return redirect("clients:appointment", visit.appointment_id)
