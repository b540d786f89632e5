import datetime as dt

import pytest
from django.apps import apps
from django.test import Client as Browser
from pytest_django import DjangoAssertNumQueries

from salon import registry
from salon.models import AuditEvent, Role, Salon, Staff
from tests.factories.salon import StaffFactory
from tests.typed import SignIn

PASSWORD = "three kettles and a lamp"


@pytest.fixture
def with_password(owner: Staff) -> Staff:
    owner.set_password(PASSWORD)
    owner.save()
    return owner


def test_signing_in_leads_to_the_start_page(with_password: Staff) -> None:
    response = Browser().post(
        "/sign-in/", {"username": with_password.username, "password": PASSWORD}
    )

    assert response.status_code == 302
    assert response.headers["Location"] == "/"


def test_a_wrong_password_says_so_and_keeps_the_name(with_password: Staff) -> None:
    response = Browser().post(
        "/sign-in/", {"username": with_password.username, "password": "wrong"}
    )

    assert f'value="{with_password.username}"' in response.text
    assert "wrong" not in response.text


def test_signing_in_is_throttled_by_name_and_place_together(with_password: Staff) -> None:
    other = StaffFactory(salon=with_password.salon)
    other.set_password(PASSWORD)
    other.save()
    browser = Browser()
    for _ in range(6):
        browser.post("/sign-in/", {"username": with_password.username, "password": "wrong"})

    shut = browser.post("/sign-in/", {"username": with_password.username, "password": PASSWORD})
    open_to_others = browser.post(
        "/sign-in/", {"username": other.username, "password": PASSWORD}
    )

    assert shut.status_code == 429
    assert open_to_others.status_code == 302


def test_signing_in_follows_no_link_to_another_site(with_password: Staff) -> None:
    response = Browser().post(
        "/sign-in/?next=https://elsewhere.example/",
        {"username": with_password.username, "password": PASSWORD},
    )

    assert response.headers["Location"] == "/"


@pytest.mark.parametrize(
    ("role", "path"),
    [
        (Role.RECEPTIONIST, "/day/"),
        (Role.STYLIST, "/today/"),
        (Role.OWNER, "/start/"),
    ],
)
def test_everyone_starts_where_their_day_starts(
    client_for: SignIn, salon: Salon, role: Role, path: str
) -> None:
    response = client_for(StaffFactory(salon=salon, role=role)).get("/")

    assert response.headers["Location"] == path


def test_owner_adds_someone_who_can_sign_in(client_for: SignIn, owner: Staff) -> None:
    client_for(owner).post(
        "/salon/team/new/",
        {
            "display_name": "Ngọc Ánh", "username": "ngoc", "role": "stylist",
            "has_column": "on", "password": PASSWORD,
        },
    )  # fmt: skip

    member = Staff.objects.get(username="ngoc")
    assert member.salon == owner.salon
    assert member.check_password(PASSWORD)


def test_a_name_that_is_taken_is_refused_beside_the_field(
    client_for: SignIn, owner: Staff
) -> None:
    response = client_for(owner).post(
        "/salon/team/new/",
        {
            "display_name": "B",
            "username": owner.username,
            "role": "stylist",
            "password": PASSWORD,
        },
    )

    assert response.status_code == 422
    assert "already signs in with this name" in response.text


def test_members_of_another_salon_do_not_exist(
    client_for: SignIn, owner: Staff, other_salon: Salon
) -> None:
    stranger = StaffFactory(salon=other_salon)

    response = client_for(owner).get(f"/salon/team/{stranger.pk}/")

    assert response.status_code == 404


@pytest.mark.parametrize("pk", ["0", "99999999999999999999999", "x", "-1"])
def test_malformed_ids_are_not_found(client_for: SignIn, owner: Staff, pk: str) -> None:
    assert client_for(owner).get(f"/salon/team/{pk}/").status_code == 404


def test_pages_of_the_salon_hold(client_for: SignIn, owner: Staff) -> None:
    browser = client_for(owner)

    for path in ("/salon/", "/salon/policy/", "/salon/record-of-changes/", "/components/"):
        response = browser.get(path)
        assert response.status_code == 200, path
        assert response.headers["Cache-Control"] == "no-store"


def test_team_page_asks_the_same_queries_for_any_team(
    client_for: SignIn, owner: Staff, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    StaffFactory.create_batch(12, salon=owner.salon)

    browser = client_for(owner)

    # session, user, salon, team, policy, clocks that run
    with django_assert_max_num_queries(6):
        browser.get("/salon/")


def test_process_and_readiness_answer_without_signing_in(db: None) -> None:
    assert Browser().get("/healthz").json() == {"status": "running"}
    answer = Browser().get("/readyz").json()
    assert (answer["status"], answer["faults"]) == ("ready", [])


def test_pages_carry_the_strict_policy(client_for: SignIn, owner: Staff) -> None:
    policy = client_for(owner).get("/salon/").headers["Content-Security-Policy"]

    assert "default-src 'none'" in policy
    assert "unsafe" not in policy


def test_times_are_shown_as_the_salons_clocks_do(client_for: SignIn, owner: Staff) -> None:
    from salon import services

    services.revise_policy(
        by=owner, at=dt.datetime(2026, 7, 1, 23, 30, tzinfo=dt.UTC), patch_lead_hours=48,
        patch_read_hours=48, patch_valid_months=6, minimum_age=16, records_keep_years=6,
    )  # fmt: skip

    assert "2 July 2026, 00:30" in client_for(owner).get("/salon/policy/").text


def test_the_record_of_changes_shows_words_and_no_codes() -> None:
    assert registry.event_name("appointment checked_in") == "client checked in"
    assert not [kind for kind in registry.events() if "_" in registry.event_name(kind)]
    labels = {
        model._meta.label_lower
        for name in ("salon", "formulas", "clients", "consult")
        for model in apps.get_app_config(name).get_models()
    }
    assert labels == registry.records()
    assert AuditEvent(target_type="clients.patchtest", target_id="7").record == "patch test 7"


def test_an_owner_enters_the_salons_phone_and_slips_say_it(
    client_for: SignIn, owner: Staff, salon: Salon
) -> None:
    data = {
        "name": "Corner House", "phone": "+353 1 496 0101", "address": "1 Quay Street",
        "time_zone": "Europe/Dublin", "currency": "eur", "country": "IE",
    }  # fmt: skip
    laptop = client_for(owner)

    refused = laptop.post("/salon/details/", {**data, "phone": "12", "currency": "euro"})
    laptop.post("/salon/details/", data)

    assert refused.status_code == 422
    assert set(refused.context["form"].errors) == {"phone", "currency"}
    salon.refresh_from_db()
    assert (salon.phone, salon.address) == ("+353 1 496 0101", "1 Quay Street")
    assert salon.currency == "EUR"
    assert "+353 1 496 0101" in laptop.get("/salon/").text
