"""The next visit: proposed with its reason, held in the diary, confirmed by the desk.

Half-lives of demi-permanent toner in washes are the engine's model assumption (see
formulas/engine/data/SOURCES.md); that a toner is spent after 10 to 12 washes is what trade
and textbook texts say.
"""

import datetime as dt

import pytest
from django.test import Client as Browser
from django.urls import reverse

from clients import services as desk
from clients.models import Appointment
from clients.models import Status as Booking
from consult import services
from consult.bench import starting_values
from consult.hair.reading_fields import ZoneRead
from consult.models import Status, Visit, ZoneReading
from salon.models import Salon, Staff
from tests.consult.bench.test_bench_posted import _post
from tests.factories.consult import Story, opened
from tests.typed import SignIn, present


@pytest.fixture
def closing(story: Story) -> Story:
    """A visit whose result is on record."""
    story.to_bench().process().see()
    story.visit.refresh_from_db()
    return story


def _card(story: Story) -> str:
    return reverse("consult:card", args=[story.visit.pk])


def test_the_reason_is_how_fast_this_toner_fades(closing: Story, tablet: Browser) -> None:
    page = tablet.get(_card(closing))

    proposed = page.context["proposed"]
    assert not proposed.from_own_visits
    assert proposed.weeks == proposed.faded_weeks == 5  # 2 x 5 washes at 2 a week
    assert "a quarter of the toner is left" in page.text


def test_a_client_who_washes_seldom_keeps_it_longer(
    salon: Salon, stylist: Staff, now: dt.datetime
) -> None:
    opened(salon, stylist=stylist, at=now - dt.timedelta(weeks=8)).to_end()
    story = opened(salon, stylist=stylist, at=now - dt.timedelta(hours=3))
    story.answer().read()
    services.read_hair(
        visit=story.visit,
        readings={z: _fields(row) for z, row in _rows(story.visit).items()},
        facts={"washes_since_toner": 6},
        by=story.by,
        at=story.later(),
    )

    proposed = starting_values.next_visit(story.visit, at=story.at)

    assert proposed.own_washes
    assert proposed.washes_per_week == pytest.approx(0.8, abs=0.05)  # 6 washes in 8 weeks
    assert proposed.faded_weeks == 13  # 10 washes at 0.75 a week


def _rows(visit: Visit) -> dict[str, ZoneReading]:
    from consult.selectors import readings_in_force

    return readings_in_force(visit)


def _fields(row: ZoneReading) -> ZoneRead:
    return {
        "natural_level": row.natural_level,
        "lifted_level": row.lifted_level,
        "undertone": row.undertone,
        "white_percent": row.white_percent,
        "porosity": row.porosity,
        "is_toned": row.is_toned,
    }


def test_one_tap_holds_a_time_that_the_diary_shows(
    closing: Story, tablet: Browser, client_for: SignIn, receptionist: Staff
) -> None:
    page = tablet.get(_card(closing))
    key = page.context["form"]["next_slot"].field.choices[1][0]

    date = page.context["proposed"].date.isoformat()
    response = _post(
        tablet, closing, _card(closing), {"next_visit_date": date, "next_slot": key}
    )

    assert response.status_code == 302
    visit = Visit.objects.get(pk=closing.visit.pk)
    held = visit.next_appointment
    assert visit.status == Status.CLOSED
    assert held is not None
    assert (held.is_proposed, held.status, held.line_id) == (
        True,
        Booking.BOOKED,
        visit.line_id,
    )
    assert held.starts_at.astimezone(visit.salon.zone).date() == visit.next_visit_date
    imke = client_for(receptionist)
    day = imke.get(reverse("clients:day_of", args=[present(visit.next_visit_date).isoformat()]))
    assert "to be confirmed" in day.text
    done = imke.get(reverse("clients:appointment", args=[visit.appointment_id]))
    assert "to be confirmed" in done.text


def test_a_time_taken_meanwhile_closes_nothing(closing: Story, tablet: Browser) -> None:
    page = tablet.get(_card(closing))
    key, slot = next(iter(page.context["form"].slots.items()))
    taken = closing.visit.appointment
    desk.book_appointment(
        client=closing.visit.client, service=taken.service, line=taken.line,
        stylist=slot.stylist, starts_at=slot.starts_at, by=closing.by, at=closing.at,
    )  # fmt: skip

    date = page.context["proposed"].date.isoformat()
    refused = _post(
        tablet, closing, _card(closing), {"next_visit_date": date, "next_slot": key}
    )

    assert refused.status_code == 422
    assert "no longer free" in refused.text
    assert Visit.objects.get(pk=closing.visit.pk).status == Status.OPEN
    with pytest.raises(services.ClosingRefused):
        services.close_visit(
            visit=closing.visit, by=closing.by, at=closing.later(),
            next_slot=services.NextSlot(slot.starts_at, slot.stylist),
        )  # fmt: skip
    assert Appointment.objects.filter(starts_at=slot.starts_at).count() == 1


def test_another_day_offers_its_own_times(closing: Story, tablet: Browser) -> None:
    day = starting_values.next_visit(closing.visit, at=closing.at).date + dt.timedelta(days=20)

    told = tablet.post(
        reverse("consult:slots", args=[closing.visit.pk]), {"next_visit_date": day.isoformat()}
    )

    offered = [slot.starts_at.date() for slot in told.context["form"].slots.values()]
    assert offered
    assert all(abs((date - day).days) <= 14 for date in offered)


@pytest.mark.parametrize("day", ["", "soon", "0001-01-01", "9999-12-31"])
def test_a_day_of_nonsense_still_offers_times(
    closing: Story, tablet: Browser, day: str
) -> None:
    told = tablet.post(
        reverse("consult:slots", args=[closing.visit.pk]), {"next_visit_date": day}
    )

    assert told.status_code == 200


@pytest.fixture
def held(closing: Story) -> Appointment:
    near = starting_values.next_visit(closing.visit, at=closing.at).date
    slot = starting_values.free_slots(closing.visit, near=near, at=closing.at)[0]
    services.close_visit(
        visit=closing.visit, by=closing.by, at=closing.later(),
        next_slot=services.NextSlot(slot.starts_at, slot.stylist),
    )  # fmt: skip
    visit = Visit.objects.get(pk=closing.visit.pk)
    assert visit.next_appointment is not None
    return visit.next_appointment


def test_the_desk_confirms_it(
    held: Appointment, client_for: SignIn, receptionist: Staff
) -> None:
    imke = client_for(receptionist)
    assert "Time held" in imke.get(reverse("clients:appointment", args=[held.pk])).text

    imke.post(reverse("clients:confirm", args=[held.pk]))

    held.refresh_from_db()
    assert not held.is_proposed
    assert held.events.count() == 2


def test_moving_it_confirms_it_as_well(held: Appointment, closing: Story) -> None:
    desk.move_appointment(
        appointment=held, starts_at=held.starts_at + dt.timedelta(days=7), stylist=held.stylist,
        by=closing.by, at=closing.at,
    )  # fmt: skip

    assert not Appointment.objects.get(pk=held.pk).is_proposed
