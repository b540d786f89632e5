"""Who holds the tablet: switching, its limits, the lock, and the end after twelve hours."""

import datetime as dt
from collections.abc import Callable
from unittest import mock

import pytest
import time_machine
from django.test import Client as Browser

from salon.models import AuditEvent, Device, Role, Staff
from salon.tablet import services
from tests.factories.salon import StaffFactory
from tests.project.role_table import TABLE
from tests.project.test_roles import ROUTES, _address
from tests.salon.tablet.conftest import PASSWORD, PINS, switch, whose

MINUTE = dt.timedelta(minutes=1)
# Shut although more than the owner may open them: a secret link carries the diary out.
SHUT = frozenset(
    {
        "clients:own_feed", "clients:close_feed", "salon:second_factor", "salon:recovery_codes",
        "salon:replace_second_factor", "salon:turn_off_second_factor",
        "salon:add_passkey", "salon:begin_passkey", "salon:passkey_creation",
        "salon:rename_passkey", "salon:remove_passkey",
    }
)  # fmt: skip
# For owners alone, and open to a PIN: reading, and counting tubes at the bench.
OPEN_TO_OWNERS = frozenset(
    {
        "consult:component_gallery",
        "salon:house",
        "salon:record_of_changes",
        "consult:histories",
        "consult:visit_list",
        "consult:start_day",
        "consult:first_steps",
        "formulas:count_stock",
        "formulas:discard_stock",
    }
)


def test_a_pin_hands_the_tablet_on_in_a_new_session(
    tablet: Browser, team: dict[str, Staff]
) -> None:
    before = tablet.session.session_key

    answer = switch(tablet, team[Role.RECEPTIONIST])

    assert answer.headers["Location"] == "/"
    assert whose(tablet) == team[Role.RECEPTIONIST].pk
    assert tablet.session.session_key != before
    assert tablet.get("/today/").status_code == 403  # a receptionist's rights, no others
    event = AuditEvent.objects.get(kind="switched by PIN")
    assert event.actor_id == team[Role.RECEPTIONIST].pk
    assert event.detail == {
        "from_id": team[Role.STYLIST].pk,
        "to_id": team[Role.RECEPTIONIST].pk,
    }


def test_nothing_of_the_one_before_is_left(tablet: Browser, team: dict[str, Staff]) -> None:
    tablet.post(
        "/your-pin/", {"pin": "604918", "again": "604918", "password": PASSWORD}
    )  # leaves a message for the next page
    session = tablet.session
    session["something"] = "of the stylist"
    session.save()

    switch(tablet, team[Role.RECEPTIONIST])

    assert "something" not in tablet.session
    assert "Your PIN is set" not in tablet.get("/day/").text


def test_the_old_session_opens_nothing_any_more(
    tablet: Browser, team: dict[str, Staff]
) -> None:
    stolen = Browser()
    stolen.cookies.update(tablet.cookies)

    switch(tablet, team[Role.RECEPTIONIST])

    assert stolen.get("/today/").headers["Location"].startswith("/sign-in/")


@pytest.mark.parametrize("step", ["sign in", "unlock by PIN", "unlock by password"])
def test_no_session_outlives_a_proof(
    tablet: Browser, team: dict[str, Staff], sign_in: Callable[..., Browser], step: str
) -> None:
    """Session fixation: a key known before is worth nothing after."""
    before = tablet.session.session_key

    if step == "sign in":
        tablet.post("/sign-out/")
        tablet.get("/sign-in/")
        sign_in(team[Role.STYLIST], browser=tablet)
    else:
        tablet.post("/lock/")
        kind = "pin" if "PIN" in step else "password"
        tablet.post("/locked/", {kind: PINS[Role.STYLIST] if kind == "pin" else PASSWORD})

    assert tablet.get("/today/").status_code == 200
    assert tablet.session.session_key != before


def test_the_list_names_the_team_with_pins_and_no_one_else(
    tablet: Browser, team: dict[str, Staff]
) -> None:
    StaffFactory(salon=team[Role.STYLIST].salon, display_name="Has no pin")
    StaffFactory(display_name="Works elsewhere")

    page = tablet.get("/switch/").text

    for person in team.values():
        assert f'value="{person.pk}"' in page
    assert "Has no pin" not in page
    assert "Works elsewhere" not in page


@pytest.mark.parametrize(
    "form", [{}, {"pin": "302958"}, {"staff": "x", "pin": "302958"}, {"staff": "-1"},
             {"staff": "9" * 40, "pin": "302958"}, {"staff": "1", "pin": "30295"}],
)  # fmt: skip
def test_nonsense_is_refused_without_counting(
    tablet: Browser, team: dict[str, Staff], form: dict[str, object]
) -> None:
    assert tablet.post("/switch/", form).status_code == 422
    assert not AuditEvent.objects.filter(kind="PIN refused").exists()


def test_a_switch_needs_the_full_login_that_opened_it_to_be_good_still(
    tablet: Browser, team: dict[str, Staff]
) -> None:
    switch(tablet, team[Role.RECEPTIONIST])
    opener = team[Role.STYLIST]
    opener.set_password("another long password")
    opener.save()

    assert switch(tablet, team[Role.OWNER]).status_code == 404


def test_twelve_hours_after_the_full_login_it_is_over(
    tablet: Browser, team: dict[str, Staff], clock: time_machine.Traveller
) -> None:
    clock.shift(12 * 60 * MINUTE - MINUTE / 60)
    tablet.post("/locked/", {"pin": PINS[Role.STYLIST]})
    assert tablet.get("/today/").status_code == 200

    clock.shift(MINUTE / 60)

    assert tablet.get("/today/").headers["Location"].startswith("/sign-in/")
    assert whose(tablet) is None
    assert tablet.get("/day/", headers={"HX-Request": "true"}).status_code == 401


def test_a_switch_does_not_make_it_longer(
    tablet: Browser, team: dict[str, Staff], clock: time_machine.Traveller
) -> None:
    clock.shift(11 * 60 * MINUTE)
    switch(tablet, team[Role.OWNER])
    assert tablet.get("/day/").status_code == 200

    clock.shift(60 * MINUTE)

    assert tablet.get("/day/").headers["Location"].startswith("/sign-in/")


@pytest.mark.parametrize("method", ["get", "post"])
def test_by_pin_some_routes_stay_shut(
    tablet: Browser, team: dict[str, Staff], method: str
) -> None:
    """Export, people, devices, rules, overrides; the walk is over every route there is."""
    switch(tablet, team[Role.OWNER])
    owners = {name for name, roles in TABLE.items() if roles == {Role.OWNER}}
    shut = (owners - OPEN_TO_OWNERS) | SHUT
    named = {
        "clients:export_csv", "clients:export_vcard", "clients:override", "clients:import",
        "clients:own_feed", "clients:desk_policy", "salon:add_member", "salon:change_member",
        "salon:policy", "salon:enrol_device", "salon:revoke_device", "salon:devices",
        "salon:remove_member_pin", "formulas:composition",
    }  # fmt: skip
    assert named <= shut <= set(ROUTES)
    assert owners >= OPEN_TO_OWNERS

    answers = {name: getattr(tablet, method)(_address(name)) for name in sorted(shut)}

    assert {name: answer.status_code for name, answer in answers.items()} == dict.fromkeys(
        shut, 403
    )
    assert all("This needs your password" in answer.text for answer in answers.values())


def test_by_pin_the_rest_stays_open(tablet: Browser, team: dict[str, Staff]) -> None:
    switch(tablet, team[Role.OWNER])

    for name in sorted(OPEN_TO_OWNERS | {"consult:today", "clients:day"}):
        assert tablet.get(_address(name)).status_code != 403, name


def test_by_pin_a_wrong_role_is_told_so_and_not_asked_for_a_password(
    tablet: Browser, team: dict[str, Staff]
) -> None:
    switch(tablet, team[Role.STYLIST])

    answer = tablet.get("/salon/policy/")

    assert answer.status_code == 403
    assert "This needs your password" not in answer.text


def test_the_password_opens_what_the_pin_does_not(
    tablet: Browser, team: dict[str, Staff]
) -> None:
    switch(tablet, team[Role.OWNER])

    answer = tablet.post("/locked/", {"password": PASSWORD, "next": "/salon/policy/"})

    assert answer.headers["Location"] == "/salon/policy/"
    assert tablet.get("/salon/policy/").status_code == 200


def test_unlocking_by_pin_leaves_a_pins_rights(
    tablet: Browser,
    team: dict[str, Staff],
    enrolled: tuple[Device, str],
    sign_in: Callable[..., Browser],
) -> None:
    owner = sign_in(team[Role.OWNER], token=enrolled[1])
    assert owner.get("/salon/policy/").status_code == 200

    owner.post("/lock/")
    owner.post("/locked/", {"pin": PINS[Role.OWNER]})

    assert owner.get("/salon/policy/").status_code == 403


def test_a_pin_does_not_clear_the_throttle_of_the_password(
    tablet: Browser, team: dict[str, Staff]
) -> None:
    for _ in range(5):
        tablet.post("/locked/", {"password": "guess"})
    switch(tablet, team[Role.STYLIST])

    assert tablet.post("/locked/", {"password": "guess"}).status_code == 429


def test_whoever_may_no_longer_sign_in_is_out_at_once(
    tablet: Browser, team: dict[str, Staff]
) -> None:
    switch(tablet, team[Role.RECEPTIONIST])
    gone = team[Role.RECEPTIONIST]
    gone.is_active = False
    gone.save()

    assert tablet.get("/day/").headers["Location"].startswith("/sign-in/")


def test_a_failed_record_leaves_no_half_switch(tablet: Browser, team: dict[str, Staff]) -> None:
    with (
        mock.patch.object(services, "record_switch", side_effect=RuntimeError),
        pytest.raises(RuntimeError),
    ):
        switch(tablet, team[Role.RECEPTIONIST])

    assert whose(tablet) == team[Role.STYLIST].pk
