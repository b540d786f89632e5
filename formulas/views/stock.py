"""The shelf: received at the bench, counted and discarded by the owner, history for both."""

import datetime as dt
from collections.abc import Callable
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from formulas import access, selectors, services
from formulas.forms import CountForm, DiscardForm, ReceiveForm, ReceiveShadeForm
from formulas.models import Shade
from formulas.order_list import held_of, orders
from formulas.shelf_summary import Held
from salon.access import BENCH, OWNER, SalonRequest, allow
from salon.attempts import attempt
from salon.csv_table import table_response
from salon.keyset import slice_of
from salon.submissions import once

_ROWS = 25
_EXPIRING_DAYS = 60


@allow(BENCH)
@once
@require_http_methods(["GET", "POST"])
def shelf(request: SalonRequest) -> HttpResponse:
    """Show the whole shelf with its latest movements; receive a delivery."""
    shades = selectors.shelf(salon=request.salon)
    form = ReceiveShadeForm(request.POST or None, shades=shades)
    tried = attempt(
        request,
        form,
        lambda data: services.receive_stock(by=request.user, at=timezone.now(), **data),
    )
    if tried.saved:
        _confirm(request, form.cleaned_data["shade"])
        return redirect("formulas:stock")
    held = held_of(shades, salon=request.salon, at=timezone.now())
    moved = selectors.movements_of_salon(salon=request.salon)
    context = {
        "form": form,
        "held": held,
        "wanting": [shade_held for shade_held in held if shade_held.state != "stocked"],
        "page": slice_of(moved, request.GET, by="recorded_at", size=_ROWS),
        "expiring": selectors.expiring(
            salon=request.salon,
            until=timezone.localdate(timezone=request.salon.zone)
            + dt.timedelta(days=_EXPIRING_DAYS),
        )[:20],
    }
    return render(request, "formulas/stock.html", context, status=tried.status)


@allow(BENCH)
@require_GET
def order_list(request: SalonRequest) -> HttpResponse:
    """Give what to order as CSV: shades below their level, and how many tubes."""
    found = orders(salon=request.salon, at=timezone.now())
    header = [
        _("Supplier"), _("Line"), _("Shade"), _("Bar code"), _("State"), _("In stock, g"),
        _("Order below, g"), _("Days left"), _("Grams in a tube"), _("Tubes to order"),
        _("Price of a tube"),
    ]  # fmt: skip
    rows = [
        [
            row.shade.line.supplier,
            row.shade.line.name,
            row.shade.name,
            row.shade.gtin,
            row.state_label,
            "" if row.grams < 0 else f"{row.grams:.1f}",
            f"{row.reorder_grams:.1f}",
            "" if row.days_left is None else str(row.days_left),
            f"{row.shade.tube_grams:.1f}",
            str(row.tubes_to_order),
            f"{row.shade.tube_price:f}" if row.shade.tube_price else _("no price yet"),
        ]
        for order in found
        for row in order.rows
    ]
    return table_response("order-list.csv", header, rows)


@allow(BENCH)
@once
@require_http_methods(["GET", "POST"])
def shade(request: SalonRequest, pk: int) -> HttpResponse:
    """Show one shade's shelf and history; receive a delivery of it."""
    shown = access.shade_or_404(request, pk)
    form = ReceiveForm(request.POST or None, initial={"grams": shown.tube_grams})
    return _moved(request, shown, services.receive_stock, receive=form)


@allow(OWNER, by_pin=True)
@once
@require_POST
def count(request: SalonRequest, pk: int) -> HttpResponse:
    """Set the shelf to what was counted."""
    shown = access.shade_or_404(request, pk)
    form = CountForm(request.POST)
    return _moved(request, shown, services.count_stock, count=form)


@allow(OWNER, by_pin=True)
@once
@require_POST
def discard(request: SalonRequest, pk: int) -> HttpResponse:
    """Take what was thrown away off the shelf."""
    shown = access.shade_or_404(request, pk)
    form = DiscardForm(request.POST)
    return _moved(request, shown, services.discard_stock, discard=form)


def _moved(
    request: SalonRequest, shown: Shade, service: Callable[..., object], **bound: forms.Form
) -> HttpResponse:
    """Write a movement of a shade, or return its page with the form as it was sent."""
    (form,) = bound.values()
    tried = attempt(
        request,
        form,
        lambda data: service(shade=shown, by=request.user, at=timezone.now(), **data),
    )
    if not tried.saved:
        return _shade_page(request, shown, **bound)
    _confirm(request, shown)
    return redirect("formulas:shade_stock", shown.pk)


def _shade_page(request: SalonRequest, shown: Shade, **bound: forms.Form) -> HttpResponse:
    """Return the page of a shade; the form that was sent keeps what was typed."""
    moved = selectors.movements_of(shade=shown)
    context: dict[str, Any] = {
        "shade": shown,
        "held": Held(shown, shown.grams),  # type: ignore[attr-defined]
        "receive": bound.get("receive") or ReceiveForm(initial={"grams": shown.tube_grams}),
        "count": bound.get("count") or CountForm(auto_id="count_%s"),
        "discard": bound.get("discard") or DiscardForm(auto_id="discard_%s"),
        "page": slice_of(moved, request.GET, by="recorded_at", size=_ROWS),
    }
    failed = any(form.is_bound and form.errors for form in bound.values())
    return render(request, "formulas/shade.html", context, status=422 if failed else 200)


def _confirm(request: SalonRequest, shade: Shade) -> None:
    messages.success(request, _("Stock of %(name)s saved.") % {"name": shade.name})
