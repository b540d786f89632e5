"""Printed pages of a visit."""

import hashlib

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET

from consult import access, cards, papers, services
from consult.models import CardKind, Status, Visit
from salon import languages
from salon.access import BENCH, DESK, SalonRequest, allow


@allow(DESK)
@require_GET
def card_pdf(request: SalonRequest, pk: int) -> HttpResponse:
    """Print the visit card that the client keeps and the next stylist works from."""
    visit = access.visit_or_404(request, pk)
    if visit.status != Status.CLOSED:
        messages.warning(request, _("The card is printed once the visit is closed."))
        return redirect("salon:home")
    with languages.speaking(visit.client.speaks(request.salon)):
        context = papers.visit_card(visit)
        return _pdf(request, visit, CardKind.VISIT, "cards/visit.html", context)


@allow(BENCH)
@require_GET
def bench_card(request: SalonRequest, pk: int) -> HttpResponse:
    """Print what the next stylist needs, with a code that leads back to the visit."""
    visit = access.visit_or_404(request, pk)
    if not visit.formulas.exists():
        messages.warning(request, _("The bench card needs a formula first."))
        return redirect("consult:visit", pk)
    address = request.build_absolute_uri(reverse("consult:visit", args=[pk]))
    context = papers.bench_card(visit, address=address)
    return _pdf(request, visit, CardKind.BENCH, "cards/bench.html", context)


@allow(BENCH)
@require_GET
def sign_off_pdf(request: SalonRequest, pk: int, signed: int) -> HttpResponse:
    """Print a sign-off as it was frozen."""
    visit = access.visit_or_404(request, pk)
    row = access.sign_off_or_404(visit, signed)
    with languages.speaking(papers.language_of(row)):
        context = papers.sign_off_sheet(row)
        return _pdf(request, visit, CardKind.SIGN_OFF, "cards/sign_off.html", context)


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
