"""A delivery of many shades in one form, and a count of the whole shelf."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods

from formulas import selectors, services
from formulas.forms import CountSheetForm, DeliveryForm
from salon.access import BENCH, OWNER, SalonRequest, allow
from salon.attempts import attempt
from salon.submissions import once


@allow(BENCH)
@once
@require_http_methods(["GET", "POST"])
def delivery(request: SalonRequest) -> HttpResponse:
    """Receive many shades at once; each scan adds a tube to the sheet."""
    shades = list(selectors.shelf(salon=request.salon))
    form = DeliveryForm(request.POST or None, shades=shades)
    if request.method == "POST" and form.data.get("scan"):
        status = 200 if form.is_valid() else 422
        form = form.with_scan()
        status = 422 if form.is_bound and form.errors.get("scan") else status
        return render(request, "formulas/delivery.html", {"form": form}, status=status)
    tried = attempt(
        request,
        form,
        lambda _data: services.receive_delivery(
            delivered=form.delivered(), by=request.user, at=timezone.now()
        ),
    )
    if tried.saved:
        n = len(tried.result or ())
        words = ngettext("%(n)s shade received.", "%(n)s shades received.", n) % {"n": n}
        messages.success(request, words)
        return redirect("formulas:stock")
    return render(request, "formulas/delivery.html", {"form": form}, status=tried.status)


@allow(OWNER)
@once
@require_http_methods(["GET", "POST"])
def count_sheet(request: SalonRequest) -> HttpResponse:
    """Count the shelf on one sheet, on paper or on screen; empty rows stay as they are."""
    shades = list(selectors.shelf(salon=request.salon))
    form = CountSheetForm(request.POST or None, shades=shades)
    tried = attempt(
        request,
        form,
        lambda _data: services.count_shelf(
            counted=form.counted(), by=request.user, at=timezone.now()
        ),
    )
    if tried.saved:
        n = tried.result or 0
        words = ngettext("%(n)s shade corrected.", "%(n)s shades corrected.", n) % {"n": n}
        messages.success(request, words)
        return redirect("formulas:stock")
    return render(request, "formulas/count_sheet.html", {"form": form}, status=tried.status)
