"""What every page of the desk is asked: other salons, ids, methods, queries, names."""

import datetime as dt

import pytest
from django.test import Client as Browser
from pytest_django import DjangoAssertNumQueries

from clients.models import Client, Service, Status
from formulas.models import ProductLine
from salon.models import Salon, Staff
from tests.clients.conftest import TODAY, at_clock
from tests.factories.clients import (
    AppointmentFactory,
    ClientFactory,
    PatchTestFactory,
    ReadingFactory,
    ToneFactory,
)
from tests.factories.formulas import LineFactory
from tests.factories.salon import StaffFactory
from tests.typed import SignIn

pytestmark = pytest.mark.usefixtures("clock")


@pytest.mark.parametrize(
    ("method", "path"),
    [
        ("get", "/clients/{client}/"),
        ("get", "/clients/{client}/edit/"),
        ("post", "/clients/{client}/edit/"),
        ("get", "/clients/{client}/safety/"),
        ("post", "/clients/{client}/alerts/"),
        ("get", "/clients/{client}/patch-tests/place/"),
        ("get", "/appointments/new/?client={client}"),
        ("get", "/waiting/new/?client={client}"),
        ("get", "/appointments/{appointment}/"),
        ("post", "/appointments/{appointment}/move/"),
        ("post", "/appointments/{appointment}/cancel/"),
        ("post", "/appointments/{appointment}/check-in/"),
        ("get", "/patch-tests/{test}/read/"),
        ("get", "/patch-tests/{test}/slip/"),
    ],
)
def test_what_belongs_to_another_salon_does_not_exist(
    desk: Browser, other_salon: Salon, method: str, path: str
) -> None:
    client = ClientFactory(salon=other_salon)
    ids = {
        "client": client.pk,
        "appointment": AppointmentFactory(client=client).pk,
        "test": PatchTestFactory(client=client).pk,
    }

    response = getattr(desk, method)(path.format(**ids))

    assert response.status_code == 404


@pytest.mark.parametrize(
    "path",
    [
        "/clients/0/",
        "/clients/99999999999999999999999/",
        "/clients/abc/",
        "/appointments/99999999999999999999999/",
        "/patch-tests/1e3/read/",
        "/day/2026-13-40/",
        "/day/1850-01-01/",
        "/day/tomorrow/",
        "/week/2026-02-30/",
    ],
)
def test_malformed_addresses_are_404(desk: Browser, path: str) -> None:
    assert desk.get(path).status_code == 404


@pytest.mark.parametrize(
    ("method", "path"),
    [("post", "/day/"), ("post", "/clients/"), ("get", "/appointments/1/check-in/"),
     ("get", "/appointments/1/move/"), ("get", "/appointments/1/override/")],
)  # fmt: skip
def test_wrong_methods_are_refused(
    client_for: SignIn, owner: Staff, method: str, path: str
) -> None:
    assert getattr(client_for(owner), method)(path).status_code == 405


def _fill(salon: Salon, line: ProductLine, number: int) -> None:
    for _ in range(number):
        one = ClientFactory(salon=salon, phone="+353 1 555 0123")
        stylist = StaffFactory(salon=salon, has_column=True)
        AppointmentFactory(
            client=one, service=ToneFactory(salon=salon), line=line,
            stylist=stylist, starts_at=at_clock(11),
        )  # fmt: skip
        test = PatchTestFactory(
            client=one, line=line, applied_at=at_clock(9) - dt.timedelta(days=9)
        )
        ReadingFactory(test=test)
        PatchTestFactory(client=one, line=line, applied_at=at_clock(9) - dt.timedelta(days=3))


@pytest.mark.parametrize(
    "path", ["/day/", "/week/", "/clients/", "/clients/?q=client", "/patch-tests/", "/waiting/",
             "/hours/"],
)  # fmt: skip
def test_lists_ask_no_more_queries_with_more_rows(
    desk: Browser,
    salon: Salon,
    line: ProductLine,
    path: str,
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    _fill(salon, line, 2)
    desk.get(path)
    with CaptureQueriesContext(connection) as few:
        desk.get(path)
    _fill(salon, line, 9)

    with django_assert_num_queries(len(few)):
        response = desk.get(path)

    assert response.status_code == 200
    # Whose consent is withdrawn, the keys of what is read, and whom and what many share.
    assert len(few) <= 26


def test_a_client_with_a_long_history_costs_no_more_queries(
    desk: Browser,
    person: Client,
    line: ProductLine,
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    def happen(times: int) -> None:
        for n in range(times):
            AppointmentFactory(client=person, starts_at=at_clock(9) - dt.timedelta(days=n + 1))
            ReadingFactory(
                test=PatchTestFactory(
                    client=person, line=line, applied_at=at_clock(9) - dt.timedelta(days=n + 5)
                )
            )

    happen(2)
    desk.get(f"/clients/{person.pk}/")
    with CaptureQueriesContext(connection) as few:
        desk.get(f"/clients/{person.pk}/")
    happen(12)

    with django_assert_num_queries(len(few)):
        desk.get(f"/clients/{person.pk}/")


@pytest.mark.parametrize(
    "name",
    [
        "نور الهدى عبد الرحمن",
        "Ольга Константиновна Преображенская",
        "Wolfeschlegelsteinhausenbergerdorff-Featherstonehaugh Alexandrina Maria Theresia",
        "李小龍",
        "<script>alert(1)</script>",
    ],
)
def test_names_stand_in_their_own_direction_on_every_page(
    desk: Browser, salon: Salon, line: ProductLine, name: str
) -> None:
    client = ClientFactory(salon=salon, name=name)
    one = AppointmentFactory(
        client=client, service=ToneFactory(salon=salon), line=line, starts_at=at_clock(11)
    )
    shown = name.replace("<", "&lt;").replace(">", "&gt;")

    for path in ("/day/", f"/clients/{client.pk}/", f"/appointments/{one.pk}/", "/clients/"):
        assert f"<bdi>{shown}</bdi>" in desk.get(path).text


def test_a_cut_begins_and_ends_at_the_desk_and_colour_does_not(
    desk: Browser, person: Client, cut: Service, tone: Service, line: ProductLine
) -> None:
    one = AppointmentFactory(
        client=person, service=cut, status=Status.CHECKED_IN, starts_at=at_clock(10)
    )
    other = AppointmentFactory(
        client=person, service=tone, line=line, status=Status.CHECKED_IN, starts_at=at_clock(10)
    )

    desk.post(f"/appointments/{one.pk}/begin/")
    desk.post(f"/appointments/{one.pk}/finish/")
    refused = desk.post(f"/appointments/{other.pk}/begin/")

    one.refresh_from_db()
    assert one.status == Status.DONE
    assert refused.status_code == 409


def test_the_owner_overrides_on_the_page_and_a_receptionist_sees_no_form(
    desk: Browser, client_for: SignIn, owner: Staff, tone: Service, line: ProductLine
) -> None:
    client = ClientFactory(salon=owner.salon)
    one = AppointmentFactory(client=client, service=tone, line=line, starts_at=at_clock(11))
    boss = client_for(owner)

    assert "Override" not in desk.get(f"/appointments/{one.pk}/").text
    assert "Override" in boss.get(f"/appointments/{one.pk}/").text
    short = boss.post(f"/appointments/{one.pk}/override/", {"reason": "ok"})
    boss.post(
        f"/appointments/{one.pk}/override/", {"reason": "Tested clear at our other house"}
    )

    assert short.status_code == 422
    page = desk.get(f"/appointments/{one.pk}/").text
    assert "Allowed by" in page
    assert "Tested clear at our other house" in page


def test_the_worklist_says_who_must_come_whose_reading_is_due_and_whose_runs_out(
    desk: Browser, salon: Salon, line: ProductLine
) -> None:
    other_line = LineFactory(salon=salon)

    def booked(name: str, days: int, of: ProductLine = line) -> Client:
        client = ClientFactory(salon=salon, name=name)
        AppointmentFactory(
            client=client, service=ToneFactory(salon=salon), line=of,
            starts_at=at_clock(11, day=TODAY + dt.timedelta(days=days)),
        )  # fmt: skip
        return client

    def ago(days: int) -> dt.datetime:
        return at_clock(9) - dt.timedelta(days=days)

    booked("Untested", 5)
    PatchTestFactory(client=booked("Unread", 5), line=line, applied_at=ago(3))
    running_out = booked("Runs Out", 20)
    ReadingFactory(test=PatchTestFactory(client=running_out, line=line, applied_at=ago(170)))
    fine = booked("Fine", 5)
    ReadingFactory(test=PatchTestFactory(client=fine, line=line, applied_at=ago(10)))
    booked("Other line", 5, of=other_line)

    page = desk.get("/patch-tests/").text

    to_read, rest = page.split('id="to-place"')
    to_place, runs_out = rest.split('id="runs-out"')
    assert "Unread" in to_read
    assert "Untested" in to_place
    assert "Other line" in to_place
    assert "Runs Out" in runs_out
    assert "Fine" not in page
