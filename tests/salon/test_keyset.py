"""Pages by time: every row once, both ways, also rows of one moment."""

import datetime as dt

import pytest
from django.http import QueryDict

from salon.keyset import Slice, slice_of
from salon.models import AuditEvent, Salon
from tests.factories.salon import SalonFactory

pytestmark = pytest.mark.django_db

START = dt.datetime(2026, 3, 1, 9, tzinfo=dt.UTC)


@pytest.fixture
def salon() -> Salon:
    """A salon with eight events, three of them at one moment."""
    salon = SalonFactory()
    for minutes in (0, 1, 2, 2, 2, 3, 4, 5):
        AuditEvent.objects.create(
            salon=salon, kind="x", at=START + dt.timedelta(minutes=minutes, microseconds=7),
            target_type="salon.salon", target_id=str(minutes),
        )  # fmt: skip
    return salon


def _page(salon: Salon, **asked: str) -> Slice:
    query = QueryDict(mutable=True)
    query.update(asked)
    return slice_of(AuditEvent.objects.filter(salon=salon), query, by="at", size=3)


def test_walked_to_its_end_and_back_each_row_is_shown_once(salon: Salon) -> None:
    every = list(AuditEvent.objects.filter(salon=salon).order_by("-at", "-pk"))

    pages = [_page(salon)]
    while pages[-1].earlier:
        pages.append(_page(salon, before=pages[-1].earlier))
    assert [row for page in pages for row in page] == every
    assert [len(page) for page in pages] == [3, 3, 2]
    assert not pages[0].later

    back = _page(salon, after=pages[-1].later)
    assert list(back) == every[3:6]
    assert list(_page(salon, after=back.later)) == every[:3]
    assert not _page(salon, after=back.later).later


@pytest.mark.parametrize(
    "name",
    ["", "x", "2026-03-01", "2026-02-31T00:00:00_1", "2026-03-01T09:00:00_", "_7", "9" * 40],
)
def test_an_address_that_names_no_row_gives_the_latest(salon: Salon, name: str) -> None:
    latest = list(_page(salon))

    assert list(_page(salon, before=name)) == latest
    assert list(_page(salon, after=name)) == latest


def test_an_empty_list_has_one_empty_page() -> None:
    page = _page(SalonFactory())

    assert list(page) == []
    assert not page.has_other_pages
