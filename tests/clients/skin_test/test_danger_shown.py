"""Danger stays visible: what is refused, named, listed and given back."""

import datetime as dt

import pytest

from clients import selectors, services
from clients.models import (
    Appointment,
    Service,
    Status,
)
from clients.skin_test.state import patch_state
from tests.clients.conftest import at_clock
from tests.factories.clients import (
    AppointmentFactory,
    ClientFactory,
    PatchTestFactory,
    ReadingFactory,
)

pytestmark = pytest.mark.usefixtures("clock")
HOUR = dt.timedelta(hours=1)
DAY = dt.timedelta(days=1)


def test_a_line_on_a_service_without_colour_is_refused(
    *, client, line, cut, stylist, receptionist, now
) -> None:
    with pytest.raises(services.BookingRefused, match="no colour"):
        services.book_appointment(
            client=client, service=cut, line=line, stylist=stylist,
            starts_at=at_clock(14), by=receptionist, at=now,
        )  # fmt: skip


def test_a_service_that_develops_asks_for_a_test_or_says_why_not(salon, owner, now) -> None:
    assert Service(salon=salon).is_colour
    fields = {"name": "Perm", "processing_minutes": 20, "is_colour": False}
    with pytest.raises(services.OfferRefused, match="Say why"):
        services.add_service(by=owner, at=now, **fields)

    kept = services.add_service(by=owner, at=now, no_test_reason="no dye", **fields)

    assert kept.no_test_reason == "no dye"


def test_what_made_a_test_void_is_named_with_its_date(
    client, line, stylist, receptionist, now
) -> None:
    ReadingFactory(test=PatchTestFactory(client=client, line=line, applied_at=now - 9 * DAY))
    services.answer_safety_questions(
        client=client, answers={"black_henna": "yes"}, by=receptionist, at=now - DAY
    )

    state = patch_state(client=client, line=line, at=now)

    assert state.reason.startswith("Black-henna tattoo, 10 March: ")


def test_a_visit_that_ends_early_gives_the_rest_back(
    *, client, tone, line, stylist, receptionist, now
) -> None:
    one = services.book_appointment(
        client=client, service=tone, line=line, stylist=stylist,
        starts_at=now, by=receptionist, at=now,
    )  # fmt: skip
    Appointment.objects.filter(pk=one.pk).update(status=Status.IN_SERVICE)
    one.refresh_from_db()

    services.finish_service(appointment=one, by=stylist, at=now + dt.timedelta(minutes=42))

    assert one.ends_at == now + dt.timedelta(minutes=45)
    assert not one.claims.filter(slot_at__gte=one.ends_at).exists()


def test_someone_under_age_is_on_no_list_for_a_test(
    *, salon, line, tone, stylist, now, receptionist
) -> None:
    child = ClientFactory(salon=salon, birth_date=dt.date(2012, 5, 5))
    AppointmentFactory(
        client=child, line=line, service=tone, stylist=stylist, starts_at=now + 5 * DAY
    )

    work = selectors.patch_worklist(salon=salon, at=now)

    assert [item.client for item in work["too_young"]] == [child]
    assert work["to_place"] == []


def test_who_is_late_still_must_be_tested(*, client, line, tone, stylist, now, salon) -> None:
    AppointmentFactory(
        client=client, line=line, service=tone, stylist=stylist, starts_at=now - HOUR
    )

    assert len(selectors.patch_worklist(salon=salon, at=now)["to_place"]) == 1
