"""Danger stays visible: what is refused, named, listed and given back."""

import datetime as dt

import pytest
import time_machine
from django.test import Client as Browser
from django.utils import translation

from clients import selectors, services
from clients.models import (
    Appointment,
    Client,
    ClientAlert,
    Service,
    Status,
)
from clients.skin_test.state import patch_state
from consult import services as bench
from formulas.models import ProductLine
from salon.models import Salon, Staff
from tests.clients.conftest import at_clock
from tests.factories.clients import (
    AppointmentFactory,
    ClientFactory,
    PatchTestFactory,
    ReadingFactory,
)
from tests.typed import SignIn

pytestmark = pytest.mark.usefixtures("clock")
HOUR = dt.timedelta(hours=1)
DAY = dt.timedelta(days=1)


def test_a_line_on_a_service_without_colour_is_refused(
    *, person: Client, line: ProductLine, cut: Service, stylist: Staff, receptionist: Staff,
    now: dt.datetime
) -> None:  # fmt: skip
    with pytest.raises(services.BookingRefused, match="no colour"):
        services.book_appointment(
            client=person, service=cut, line=line, stylist=stylist,
            starts_at=at_clock(14), by=receptionist, at=now,
        )  # fmt: skip


def test_a_service_that_develops_asks_for_a_test_or_says_why_not(
    salon: Salon, owner: Staff, now: dt.datetime
) -> None:
    assert Service(salon=salon).is_colour
    fields = {"name": "Perm", "processing_minutes": 20, "is_colour": False}
    with pytest.raises(services.OfferRefused, match="Say why"):
        services.add_service(by=owner, at=now, **fields)

    kept = services.add_service(by=owner, at=now, no_test_reason="no dye", **fields)

    assert kept.no_test_reason == "no dye"


def test_what_made_a_test_void_is_named_with_its_date(
    person: Client, line: ProductLine, stylist: Staff, receptionist: Staff, now: dt.datetime
) -> None:
    ReadingFactory(test=PatchTestFactory(client=person, line=line, applied_at=now - 9 * DAY))
    services.answer_safety_questions(
        client=person, answers={"black_henna": "yes"}, by=receptionist, at=now - DAY
    )

    state = patch_state(client=person, line=line, at=now)

    assert state.reason.startswith("Black-henna tattoo, 10 March: ")


def test_a_visit_that_ends_early_gives_the_rest_back(
    *, person: Client, tone: Service, line: ProductLine, stylist: Staff, receptionist: Staff,
    now: dt.datetime
) -> None:  # fmt: skip
    one = services.book_appointment(
        client=person, service=tone, line=line, stylist=stylist,
        starts_at=now, by=receptionist, at=now,
    )  # fmt: skip
    Appointment.objects.filter(pk=one.pk).update(status=Status.IN_SERVICE)
    one.refresh_from_db()

    services.finish_service(appointment=one, by=stylist, at=now + dt.timedelta(minutes=42))

    assert one.ends_at == now + dt.timedelta(minutes=45)
    assert not one.claims.filter(slot_at__gte=one.ends_at).exists()


def test_someone_under_age_is_on_no_list_for_a_test(
    *, salon: Salon, line: ProductLine, tone: Service, stylist: Staff, now: dt.datetime,
    receptionist: Staff
) -> None:  # fmt: skip
    child = ClientFactory(salon=salon, birth_date=dt.date(2012, 5, 5))
    AppointmentFactory(
        client=child, line=line, service=tone, stylist=stylist, starts_at=now + 5 * DAY
    )

    work = selectors.patch_worklist(salon=salon, at=now)

    assert [item.client for item in work["too_young"]] == [child]
    assert work["to_place"] == []


def test_who_is_late_still_must_be_tested(
    *, person: Client, line: ProductLine, tone: Service, stylist: Staff, now: dt.datetime,
    salon: Salon
) -> None:  # fmt: skip
    AppointmentFactory(
        client=person, line=line, service=tone, stylist=stylist, starts_at=now - HOUR
    )

    assert len(selectors.patch_worklist(salon=salon, at=now)["to_place"]) == 1


@pytest.fixture
def seated(
    person: Client, line: ProductLine, tone: Service, stylist: Staff, now: dt.datetime
) -> Appointment:
    """A client who was checked in for colour, on a clear test."""
    ReadingFactory(test=PatchTestFactory(client=person, line=line, applied_at=now - 9 * DAY))
    return AppointmentFactory(
        client=person, line=line, service=tone, stylist=stylist, starts_at=now,
        status=Status.CHECKED_IN,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("what", "words"),
    [
        ("reaction", "Reacted: no colour"),
        ("expired", "Test expired"),
        ("void", "Test no longer counts"),
    ],
)
def test_danger_is_seen_after_check_in_and_by_who_presses_begin(
    *, what: str, words: str, seated: Appointment, person: Client, receptionist: Staff,
    stylist: Staff, client_for: SignIn, clock: time_machine.Traveller, now: dt.datetime
) -> None:  # fmt: skip
    if what == "reaction":
        services.record_patch_test_reading(
            test=person.patch_tests.get(), outcome="reaction", signs="red",
            by=receptionist, at=now,
        )  # fmt: skip
    elif what == "expired":
        clock.move_to(now + 183 * DAY)
        Appointment.objects.filter(pk=seated.pk).update(
            starts_at=now + 183 * DAY,
            ends_at=now + 183 * DAY + HOUR,
            processing_from=None,
            processing_until=None,
        )
    else:
        services.answer_safety_questions(
            client=person, answers={"black_henna": "yes"}, by=receptionist, at=now
        )
    desk, tablet = client_for(receptionist), client_for(stylist)

    for page in (desk.get("/day/"), tablet.get("/today/")):
        assert words in page.text
        assert "badge--stop" in page.text
    refused = tablet.post(f"/appointments/{seated.pk}/visit/", follow=True).text
    assert "Colour cannot start" in refused


def test_an_alert_is_seen_after_check_in_and_by_who_presses_begin(
    *, seated: Appointment, person: Client, receptionist: Staff, stylist: Staff,
    client_for: SignIn, desk: Browser, now: dt.datetime
) -> None:  # fmt: skip
    services.raise_alert(client=person, kind="allergy", text="Latex", by=receptionist, at=now)
    tablet = client_for(stylist)

    for page in (desk.get("/day/"), tablet.get("/today/")):
        assert "allergy</span>" in page.text
        assert "Latex" in page.text
    assert "Latex" in tablet.post(f"/appointments/{seated.pk}/visit/", follow=True).text


def test_a_medical_note_is_shown_at_the_desk_only_where_the_salon_says_so(
    *, seated: Appointment, person: Client, stylist: Staff, client_for: SignIn, desk: Browser,
    now: dt.datetime
) -> None:  # fmt: skip
    services.raise_alert(client=person, kind="medical", text="Insulin", by=stylist, at=now)

    page = desk.get("/day/").text
    assert "Insulin" not in page
    assert "only they can read it" in page
    assert "Insulin" in client_for(stylist).get("/today/").text


def test_a_visit_of_another_day_is_refused(
    *, seated: Appointment, stylist: Staff, receptionist: Staff, client_for: SignIn,
    clock: time_machine.Traveller, now: dt.datetime
) -> None:  # fmt: skip
    """A check-in forgotten weeks ago begins nothing, whoever presses, and is listed."""
    clock.move_to(now + 20 * DAY)
    tablet = client_for(stylist)

    page = tablet.post(f"/appointments/{seated.pk}/visit/", follow=True).text

    assert "This appointment is on another day" in page
    with pytest.raises(bench.OpeningRefused, match="another day"):
        bench.open_visit(appointment=seated, by=stylist, at=now + 20 * DAY)
    seated.refresh_from_db()
    assert seated.status == Status.CHECKED_IN
    assert not seated.visits.exists()
    assert (
        "1 appointment of an earlier day is still open"
        in client_for(receptionist).get("/day/").text
    )


def test_a_child_is_too_young_in_the_diary_and_sent_for_no_test(
    *, salon: Salon, line: ProductLine, tone: Service, stylist: Staff, now: dt.datetime,
    desk: Browser
) -> None:  # fmt: skip
    child = ClientFactory(salon=salon, birth_date=dt.date(2012, 5, 5))
    AppointmentFactory(
        client=child, line=line, service=tone, stylist=stylist, starts_at=now + HOUR
    )

    page = desk.get("/day/").text

    assert "Too young for colour" in page
    assert "No patch test" not in page
    assert "patch test first" not in page


def test_what_the_product_wrote_is_read_in_the_readers_language(
    person: Client, line: ProductLine, receptionist: Staff, now: dt.datetime
) -> None:
    with translation.override("de"):
        services.record_patch_test_reading(
            test=PatchTestFactory(client=person, line=line, applied_at=now - 3 * DAY),
            outcome="reaction", signs="rot", by=receptionist, at=now,
        )  # fmt: skip

    alert = ClientAlert.objects.get()

    assert (alert.text, alert.code, alert.details) == (
        "", "patch_reaction", {"line": line.name},
    )  # fmt: skip
    assert alert.words == f"Reacted to a patch test: \u2068{line.name}\u2069"
    with translation.override("de"):
        assert alert.words != f"Reacted to a patch test: \u2068{line.name}\u2069"


def test_a_cancellation_by_the_salon_is_read_in_the_readers_language(
    desk: Browser, seated: Appointment, stylist: Staff
) -> None:
    Appointment.objects.filter(pk=seated.pk).update(status=Status.BOOKED)
    desk.post(f"/day/2026-03-11/away/{stylist.pk}/")
    page = desk.get("/day/2026-03-11/").text
    assert (
        'value="stylist_away"'
        in desk.get(page.split('class="link-alone small" href="')[1].split('"')[0]).text
    )

    desk.post(f"/appointments/{seated.pk}/cancel/", {"reason": "stylist_away"})

    seated.refresh_from_db()
    assert seated.cancel_reason == "stylist_away"
    assert "the stylist is away" in desk.get(f"/appointments/{seated.pk}/").text
