"""Writes of the shelf: movements are only ever added, and the balance moves with each."""

import datetime as dt
from collections.abc import Sequence
from decimal import Decimal

from django.db import transaction
from django.db.models import F
from django.utils.formats import number_format
from django.utils.translation import gettext as _

from formulas import policies
from formulas.models import MovementReason, Shade, ShelfBalance, StockMovement
from formulas.stock_sheets import Counted, Delivered
from salon import audit
from salon.models import Staff
from salon.refusals import Refused

MOST_GRAMS = Decimal(100_000)


class StockRefused(Refused):
    """Raised when a weight makes no sense, or more would leave the shelf than is there."""


@transaction.atomic
def receive_stock(
    *,
    shade: Shade,
    grams: Decimal,
    by: Staff,
    at: dt.datetime,
    batch: str = "",
    expires_on: dt.date | None = None,
) -> StockMovement:
    """Put grams of a shade on the shelf."""
    policies.check_can_handle_stock(by=by, shade=shade)
    _check_weight(grams)
    reason = MovementReason.RECEIVED
    return _move(shade, grams, reason, by=by, at=at, batch=batch, expires_on=expires_on)


@transaction.atomic
def draw_stock(
    *, shade: Shade, grams: Decimal, by: Staff, at: dt.datetime, batch: str = ""
) -> StockMovement:
    """Take what was mixed off the shelf; what was poured is recorded even if it exceeds it.

    The bowl is a fact; a balance that goes below zero shows that a delivery was not entered.
    """
    policies.check_can_handle_stock(by=by, shade=shade)
    _check_weight(grams)
    return _move(shade, -grams, MovementReason.MIXED, by=by, at=at, batch=batch)


@transaction.atomic
def discard_stock(
    *, shade: Shade, grams: Decimal, by: Staff, at: dt.datetime, batch: str = ""
) -> StockMovement:
    """Take what was thrown away off the shelf; never more than is there."""
    policies.check_can_correct_stock(by=by, shade=shade)
    _check_weight(grams)
    there = _held(shade)
    if grams > there:
        raise StockRefused(
            _("There are only %(grams)s g in stock. Count it first."),
            code="short",
            grams=number_format(max(there, Decimal(0)), 1),
        )
    return _move(shade, -grams, MovementReason.DISCARDED, by=by, at=at, batch=batch)


@transaction.atomic
def count_stock(
    *, shade: Shade, grams: Decimal, by: Staff, at: dt.datetime
) -> StockMovement | None:
    """Set the shelf to what was counted; nothing is recorded where it already agrees."""
    policies.check_can_correct_stock(by=by, shade=shade)
    if grams:
        _check_weight(grams)
    difference = grams - _held(shade)
    if not difference:
        return None
    return _move(shade, difference, MovementReason.COUNTED, by=by, at=at)


@transaction.atomic
def receive_delivery(
    *, delivered: Sequence[Delivered], by: Staff, at: dt.datetime
) -> list[StockMovement]:
    """Put a delivery of many shades on the shelf: all of it or nothing."""
    policies.check_can_handle_stock(by=by)
    if not delivered:
        raise StockRefused(_("Enter the tubes of at least one shade."), code="nothing")
    return [
        receive_stock(
            shade=row.shade, grams=row.grams, batch=row.batch, expires_on=row.expires_on,
            by=by, at=at,
        )
        for row in delivered
    ]  # fmt: skip


@transaction.atomic
def count_shelf(*, counted: Sequence[Counted], by: Staff, at: dt.datetime) -> int:
    """Set many shades to what was counted; return how many of them differed."""
    policies.check_can_correct_stock(by=by)
    if not counted:
        raise StockRefused(_("Enter what you counted of at least one shade."), code="nothing")
    moved = [count_stock(shade=row.shade, grams=row.grams, by=by, at=at) for row in counted]
    return sum(movement is not None for movement in moved)


def _held(shade: Shade) -> Decimal:
    """Return the grams on the shelf; nobody else moves it in between."""
    return _locked(shade).grams


def _locked(shade: Shade) -> ShelfBalance:
    """Return the balance, which is locked until the end of the transaction."""
    ShelfBalance.objects.get_or_create(shade=shade)
    return ShelfBalance.objects.select_for_update().get(shade=shade)


def _check_weight(grams: Decimal) -> None:
    if not grams.is_finite() or not Decimal("0.1") <= grams <= MOST_GRAMS:
        raise StockRefused(_("Enter a weight between 0.1 g and 100 kg."), code="weight")


def _move(
    shade: Shade,
    grams: Decimal,
    reason: str,
    *,
    by: Staff,
    at: dt.datetime,
    batch: str = "",
    expires_on: dt.date | None = None,
) -> StockMovement:
    movement = StockMovement(
        salon=shade.salon,
        shade=shade,
        grams=grams,
        reason=reason,
        batch=batch.strip(),
        expires_on=expires_on,
        price_per_gram=shade.known_price_per_gram
        if reason == MovementReason.DISCARDED
        else None,
        recorded_by=by,
        recorded_at=at,
    )
    movement.full_clean()
    _locked(shade)
    movement.save()
    ShelfBalance.objects.filter(shade=shade).update(grams=F("grams") + grams)
    audit.record_event("stock moved", target=movement, by=by, at=at, reason=str(reason))
    return movement
