"""Printed pages of a visit."""

import hashlib

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET

from consult import access, cards, papers, services
from consult.models import CardKind, Status, Visit
from salon.access import DESK, SalonRequest, allow


@allow(DESK)
@require_GET
def card_pdf(request: SalonRequest, pk: int) -> HttpResponse:
    """Print the visit card that the client keeps and the next stylist works from."""
    visit = access.visit_or_404(request, pk)
    if visit.status != Status.CLOSED:
        messages.warning(request, _("The card is printed once the visit is closed."))
        return redirect("salon:home")
    return _pdf(request, visit, CardKind.VISIT, "cards/visit.html", papers.visit_card(visit))


def _pdf(
    request: SalonRequest, visit: Visit, kind: str, template: str, context: dict
) -> HttpResponse:
    sheet = cards.printed(template, context)
    services.record_card(
        visit=visit,
        kind=kind,
        digest=hashlib.sha256(sheet.content).hexdigest(),
        by=request.user,
        at=timezone.now(),
    )
    response = HttpResponse(sheet.content, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{kind}-{visit.pk}.pdf"'
    return response
