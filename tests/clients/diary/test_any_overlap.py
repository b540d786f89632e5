"""Of any bookings the table refuses just those that overlap, as the rule in Python says."""

import datetime as dt
from random import Random
from typing import Any

import pytest
from django.db import IntegrityError, transaction

from clients.models import Appointment
from salon.models import Staff
from tests.clients.diary.test_overlap_guard import _at, _insert, standing
from tests.factories.clients import ChairFactory
from tests.typed import present

__all__ = ["standing"]

Span = tuple[dt.datetime, dt.datetime]


def _meets(one: list[Span], other: list[Span]) -> bool:
    return any(a < d and c < b for a, b in one for c, d in other)


def _hands(row: dict[str, Any]) -> list[Span]:
    if row["processing_from"] is None:
        return [(row["starts_at"], row["ends_at"])]
    parts = [
        (row["starts_at"], row["processing_from"]), (row["processing_until"], row["ends_at"])
    ]  # fmt: skip
    return [part for part in parts if part[0] < part[1]]


def _any_booking(dice: Random, stylists: list[int], chairs: list[int]) -> dict[str, Any]:
    row: dict[str, Any] = _at(5 * dice.randrange(-60, 60), 5 * dice.randrange(1, 30))
    steps = int((row["ends_at"] - row["starts_at"]) / dt.timedelta(minutes=5))
    if steps > 2 and dice.random() < 0.6:
        first = dice.randrange(1, steps - 1)
        last = dice.randrange(first + 1, steps + 1)
        row["processing_from"] = row["starts_at"] + dt.timedelta(minutes=5 * first)
        row["processing_until"] = row["starts_at"] + dt.timedelta(minutes=5 * last)
    return row | {"stylist_id": dice.choice(stylists), "chair_id": dice.choice(chairs)}


@pytest.mark.parametrize("seed", range(3))
def test_of_any_bookings_just_those_that_overlap_are_refused(
    standing: Appointment, second_stylist: Staff, seed: int
) -> None:
    dice = Random(seed)  # noqa: S311  bookings, no secret
    stylists = [standing.stylist_id, second_stylist.pk]
    chairs = [present(standing.chair_id), ChairFactory(salon=standing.salon).pk]
    fields = (
        "starts_at", "ends_at", "processing_from", "processing_until", "stylist_id", "chair_id",
    )  # fmt: skip
    refused = 0
    for _turn in range(60):
        rows = Appointment.objects.values(*fields)
        new = _any_booking(dice, stylists, chairs)
        overlaps = any(
            (row["stylist_id"] == new["stylist_id"] and _meets(_hands(row), _hands(new)))
            or (
                row["chair_id"] == new["chair_id"]
                and _meets(
                    [(row["starts_at"], row["ends_at"])], [(new["starts_at"], new["ends_at"])]
                )
            )
            for row in rows
        )
        try:
            with transaction.atomic():
                _insert(standing, **new)
        except IntegrityError:
            assert overlaps, new
            refused += 1
        else:
            assert not overlaps, new
    assert 10 < refused < 60
