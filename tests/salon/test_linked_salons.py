"""One person with accounts in two salons: what links them, and who cannot use the link."""

import datetime as dt

import pytest
import time_machine
from django.test import Client as Browser
from django.utils import timezone

from salon import selectors, services
from salon.linked_salons.links import links_of
from salon.linked_salons.services import LinkRefused, go_to_salon, link_accounts
from salon.models import AuditEvent, LinkedAccount, Policy, Role, Salon, Staff
from salon.second_factor import codes
from salon.second_factor.services import set_up_second_factor
from salon.tablet import services as tablet
from tests.factories.salon import StaffFactory
from tests.typed import Answer

HERE, THERE = "three kettles and a lamp", "seven spoons under the moon"
NEW = "nine green doors and a bell"
SECRET = b"12345678901234567890"
PAGE = "/account/salons/"


def _owner(salon: Salon, username: str, password: str, role: str = Role.OWNER) -> Staff:
    made = StaffFactory(salon=salon, username=username, role=role, display_name="Orla Quinn")
    made.set_password(password)
    made.save()
    return made


@pytest.fixture
def here(salon: Salon) -> Staff:
    return _owner(salon, "orla", HERE)


@pytest.fixture
def there(other_salon: Salon) -> Staff:
    return _owner(other_salon, "orla.harbour", THERE)


@pytest.fixture
def linked(here: Staff, there: Staff) -> LinkedAccount:
    link_accounts(other_id=there.pk, by=here, at=timezone.now())
    return LinkedAccount.objects.get(staff=here)


def _in(username: str = "orla", password: str = HERE) -> Browser:
    browser = Browser()
    browser.post("/sign-in/", {"username": username, "password": password})
    return browser


def _who(browser: Browser) -> int:
    return int(browser.session.get("_auth_user_id", 0))


def _link(browser: Browser, **changed: str) -> Answer:
    fields = {"own": HERE, "username": "orla.harbour", "password": THERE, "code": ""}
    return browser.post(PAGE, {**fields, **changed})


def _go(browser: Browser, link: LinkedAccount) -> Answer:
    return browser.post(f"{PAGE}{link.pk}/")


def _code(at: dt.datetime | None = None) -> str:
    moment = (at or timezone.now()).timestamp()
    return codes.code_at(SECRET, int(moment // codes.STEP))


def _with_second_factor(staff: Staff) -> None:
    at = timezone.now() - dt.timedelta(hours=1)
    set_up_second_factor(secret=SECRET, code=_code(at), by=staff, at=at)


def _events(staff: Staff) -> list[str]:
    rows = AuditEvent.objects.filter(salon=staff.salon, target_id=str(staff.pk))
    return sorted(kind for kind in rows.values_list("kind", flat=True) if kind != "signed in")


def test_both_accounts_are_proven_and_both_salons_have_it_on_record(
    here: Staff, there: Staff
) -> None:
    browser = _in()
    assert "No account is linked" in browser.get(PAGE).content.decode()

    assert _link(browser).status_code == 302

    page = browser.get(PAGE).content.decode()
    assert f"Switch to {there.salon.name}" in page
    assert [link.other for link in links_of(there)] == [here]
    assert _events(here) == _events(there) == ["accounts linked"]


@pytest.mark.parametrize(
    "wrong", [{"own": THERE}, {"password": HERE}, {"username": "nobody"}, {"username": "orla"}]
)
def test_one_password_alone_links_nothing(
    here: Staff, there: Staff, wrong: dict[str, str]
) -> None:
    assert _link(_in(), **wrong).status_code == 422
    assert not LinkedAccount.objects.exists()


def test_a_second_factor_there_is_asked_for(here: Staff, there: Staff) -> None:
    _with_second_factor(there)
    browser = _in()

    assert _link(browser).status_code == 422
    assert _link(browser, code="000000").status_code == 422
    assert not LinkedAccount.objects.exists()
    assert _link(browser, code=_code()).status_code == 302


@pytest.mark.parametrize("role", [Role.STYLIST, Role.RECEPTIONIST])
def test_nobody_but_owners_links_or_is_linked(
    salon: Salon, other_salon: Salon, here: Staff, role: str
) -> None:
    _owner(other_salon, "sten", THERE, role)
    assert _link(_in(), username="sten").status_code == 422

    low = _owner(salon, "lotte", HERE, role)
    assert _in("lotte").get(PAGE).status_code == 403
    assert _link(_in("lotte")).status_code == 403
    assert not LinkedAccount.objects.exists()
    assert low.role == role


def test_a_colleague_of_the_same_salon_is_not_linked(salon: Salon, here: Staff) -> None:
    colleague = _owner(salon, "mina", THERE)
    with pytest.raises(LinkRefused) as refused:
        link_accounts(other_id=colleague.pk, by=here, at=timezone.now())
    assert refused.value.code == "same_salon"


def test_going_over_is_another_session_in_the_other_salon_only(
    linked: LinkedAccount, here: Staff, there: Staff
) -> None:
    browser = _in()
    key = browser.session.session_key

    assert _go(browser, linked).status_code == 302

    assert _who(browser) == there.pk
    assert browser.session.session_key != key
    assert not selectors.sessions_of(staff=here, at=timezone.now()).exists()
    assert there.salon.name in browser.get("/salon/details/").content.decode()
    assert browser.get(f"/salon/team/{here.pk}/").status_code == 404
    assert _events(here) == ["accounts linked", "salon changed to"]
    assert _events(there) == ["accounts linked", "salon changed from"]

    _go(browser, LinkedAccount.objects.get(staff=there))
    assert _who(browser) == here.pk


def test_it_ends_when_the_login_that_opened_it_does(linked: LinkedAccount) -> None:
    began = timezone.now()
    with time_machine.travel(began, tick=False) as clock:
        browser = _in()
        clock.move_to(began + dt.timedelta(minutes=1))
        _go(browser, linked)
        opened_at = browser.session["sitting"]["opened_at"]
    assert opened_at == began.timestamp()


def test_a_password_set_on_either_side_ends_the_link(
    linked: LinkedAccount, here: Staff, there: Staff, owner: Staff
) -> None:
    """An owner who gives a colleague a one-time password signs in as them, and no further."""
    given = services.reset_password(member=here, by=owner, at=timezone.now())
    browser = _in(password=given)
    browser.post("/account/", {"current": given, "new_password1": NEW, "new_password2": NEW})
    assert _who(browser) == here.pk

    _go(browser, linked)

    assert _who(browser) == here.pk
    assert [link.fault for link in links_of(Staff.objects.get(pk=there.pk))] == ["changed"]


def test_a_password_changed_here_ends_the_session_there(
    linked: LinkedAccount, here: Staff, there: Staff
) -> None:
    browser = _in()
    _go(browser, linked)
    assert browser.get("/salon/").status_code == 200

    services.change_password(password=NEW, by=Staff.objects.get(pk=here.pk), at=timezone.now())

    assert browser.get("/salon/").status_code == 302
    assert _who(browser) == 0


def test_an_owner_who_left_one_salon_keeps_the_other_and_no_way_between(
    linked: LinkedAccount, here: Staff, there: Staff, owner: Staff
) -> None:
    browser = _in()
    _go(browser, linked)

    services.change_member(
        member=Staff.objects.get(pk=here.pk), by=owner, at=timezone.now(), is_active=False
    )

    assert browser.get("/salon/").status_code == 302  # it came from an account that is gone
    own = _in("orla.harbour", THERE)
    assert _who(own) == there.pk
    _go(own, LinkedAccount.objects.get(staff=there))
    assert _who(own) == there.pk


def test_an_owner_who_is_made_a_stylist_there_does_not_come_in(
    linked: LinkedAccount, here: Staff, there: Staff
) -> None:
    Staff.objects.filter(pk=there.pk).update(role=Role.STYLIST)
    with pytest.raises(LinkRefused) as refused:
        go_to_salon(pk=linked.pk, by=here, at=timezone.now())
    assert refused.value.code == "left"


def test_without_a_second_factor_nobody_gets_past_one(
    linked: LinkedAccount, here: Staff, there: Staff
) -> None:
    _with_second_factor(there)
    browser = _in()
    _go(browser, linked)
    assert _who(browser) == here.pk

    _go(_in(), linked)
    assert [link.fault for link in links_of(here)] == ["second_factor"]


def test_each_salon_keeps_its_own_rule_on_second_factors(
    linked: LinkedAccount, there: Staff
) -> None:
    Policy.objects.create(
        salon=there.salon, number=9, recorded_at=timezone.now(), recorded_by=there,
        owners_need_second_factor=True,
    )  # fmt: skip
    browser = _in()
    _go(browser, linked)
    assert browser.get("/salon/").headers["Location"].startswith("/account/second-factor/")


def test_a_pin_opens_no_other_salon(
    linked: LinkedAccount, here: Staff, stylist: Staff, settings: object
) -> None:
    """The owner takes a tablet over by PIN; whoever saw the PIN does not get further."""
    now = timezone.now()
    tablet.set_pin(by=here, pin="739164", at=now)
    _device, token = tablet.enrol_device(name="Tablet", by=here, at=now)
    stylist.set_password(NEW)
    stylist.save()
    browser = Browser()
    browser.cookies[settings.DEVICE_COOKIE_NAME] = token  # type: ignore[attr-defined]
    browser.post("/sign-in/", {"username": stylist.username, "password": NEW})
    browser.post("/switch/", {"staff": here.pk, "pin": "739164"})
    assert _who(browser) == here.pk

    assert browser.get(PAGE).status_code == 403
    assert _go(browser, linked).status_code == 403
    assert _who(browser) == here.pk


def test_a_tablet_in_a_clients_hands_goes_nowhere(linked: LinkedAccount, here: Staff) -> None:
    browser = _in()
    session = browser.session
    session["sitting"] = {**session["sitting"], "is_handed_out": True}
    session.save()
    _go(browser, linked)
    assert _who(browser) == here.pk


def test_nobody_uses_or_removes_anothers_link(linked: LinkedAccount, owner: Staff) -> None:
    owner.set_password(NEW)
    owner.save()
    browser = _in(owner.username, NEW)
    _go(browser, linked)
    browser.post(f"{PAGE}{linked.pk}/remove/")
    assert _who(browser) == owner.pk
    assert LinkedAccount.objects.count() == 2


def test_either_side_removes_the_link(linked: LinkedAccount, here: Staff, there: Staff) -> None:
    browser = _in("orla.harbour", THERE)
    browser.post(f"{PAGE}{LinkedAccount.objects.get(staff=there).pk}/remove/")

    assert not LinkedAccount.objects.exists()
    assert "accounts unlinked" in _events(here)
    assert "accounts unlinked" in _events(there)
    browser = _in()
    _go(browser, linked)
    assert _who(browser) == here.pk
