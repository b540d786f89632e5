"""Printed pages of a visit."""

import hashlib

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET

from clients.access import patch_test_or_404
from clients.models import AccessKind
from consult import access, services
from consult.models import CardKind, Status, Visit
from consult.paper import content, pdf
from formulas.order_list import orders
from salon import languages
from salon.access import BENCH, DESK, SalonRequest, allow

ORDER_LIST = pdf.Paper("cards/order_list.html", flows=True)


@allow(DESK, shows=AccessKind.PAPER)
@require_GET
def card_pdf(request: SalonRequest, pk: int) -> HttpResponse:
    """Print the visit card that the client keeps and the next stylist works from."""
    visit = access.visit_or_404(request, pk)
    if visit.status != Status.CLOSED:
        messages.warning(request, _("You can print the card once the visit is closed."))
        return redirect("salon:home")
    paper = _sized(request, content.CARD, content.SMALL_CARD)
    with languages.speaking(visit.client.speaks(request.salon)):
        return _pdf(request, visit, CardKind.VISIT, paper, content.visit_card(visit))


@allow(BENCH, shows=AccessKind.PAPER)
@require_GET
def bench_card(request: SalonRequest, pk: int) -> HttpResponse:
    """Print what the next stylist needs, with a code that leads back to the visit."""
    visit = access.visit_or_404(request, pk)
    if not visit.formulas.exists():
        messages.warning(request, _("The bench card needs a formula first."))
        return redirect("consult:visit", pk)
    address = request.build_absolute_uri(reverse("consult:visit", args=[pk]))
    context = content.bench_card(visit, address=address)
    paper = _sized(request, content.BENCH_CARD, content.SMALL_BENCH_CARD)
    return _pdf(request, visit, CardKind.BENCH, paper, context)


@allow(BENCH, shows=AccessKind.PAPER)
@require_GET
def sign_off_pdf(request: SalonRequest, pk: int, signed: int) -> HttpResponse:
    """Print a sign-off as it was frozen."""
    visit = access.visit_or_404(request, pk)
    row = access.sign_off_or_404(visit, signed)
    with languages.speaking(content.language_of(row)):
        context = content.sign_off_sheet(row)
        paper = _sized(request, content.SIGN_OFF, content.SMALL_SIGN_OFF)
        return _pdf(request, visit, CardKind.SIGN_OFF, paper, context)


@allow(DESK, shows=AccessKind.PAPER)
@require_GET
def patch_slip(request: SalonRequest, pk: int) -> HttpResponse:
    """Print the slip that the client takes home from a patch test."""
    test = patch_test_or_404(request, pk)
    with languages.speaking(test.client.speaks(request.salon)):
        sheet = pdf.printed_paper(content.SLIP, content.patch_slip(test))
    services.note_slip(test=test, by=request.user, at=timezone.now())
    return pdf.answer(sheet, f"patch-test-{test.pk}")


@allow(BENCH)
@require_GET
def order_list(request: SalonRequest) -> HttpResponse:
    """Print what to order, by supplier."""
    at = timezone.now()
    found = orders(salon=request.salon, at=at)
    context = {"salon": request.salon, "at": at, "orders": found}
    return pdf.answer(pdf.printed_paper(ORDER_LIST, context), "order-list")


def _sized(request: SalonRequest, large: pdf.Paper, small: pdf.Paper) -> pdf.Paper:
    """Return the paper that was asked for: A4, or A6."""
    return small if request.GET.get("paper") == "a6" else large


def _pdf(
    request: SalonRequest, visit: Visit, kind: str, paper: pdf.Paper, context: dict[str, object]
) -> HttpResponse:
    sheet = pdf.printed_paper(paper, context)
    services.record_card(
        visit=visit,
        kind=kind,
        digest=hashlib.sha256(sheet.content).hexdigest(),
        by=request.user,
        at=timezone.now(),
    )
    return pdf.answer(sheet, f"{kind}-{visit.pk}")
