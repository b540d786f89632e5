"""One's own account: passwords after NIST SP 800-63B-4, one-time passwords, open sessions."""

import datetime as dt

import pytest
import time_machine
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.test import Client as Browser
from django.urls import reverse
from django.utils import timezone

from salon import accounts, passwords, services, user_names
from salon.models import AuditEvent, Role, Salon, Staff, StaffPin, StaffSession
from tests.factories.salon import StaffFactory
from tests.typed import Answer, SignIn, present

OLD, NEW = "three kettles and a lamp", "seven spoons under the moon"
IPAD = (
    "Mozilla/5.0 (iPad; CPU OS 17_5 like Mac OS X) AppleWebKit/605.1.15 (KHTML, like Gecko)"
    " Version/17.5 Mobile/15E148 Safari/604.1"
)


@pytest.fixture
def ada(salon: Salon) -> Staff:
    staff = StaffFactory(salon=salon, username="ada", display_name="Ada Brandt")
    staff.set_password(OLD)
    staff.save()
    return staff


def _sign_in(password: str, agent: str = "", username: str = "ada") -> Browser:
    browser = Browser(headers={"User-Agent": agent})
    browser.post("/sign-in/", {"username": username, "password": password})
    return browser


def _change(browser: Browser, current: str, new: str, again: str = "", **more: str) -> Answer:
    return browser.post(
        "/account/",
        {"current": current, "new_password1": new, "new_password2": again or new, **more},
    )


def _is_in(browser: Browser) -> bool:
    return browser.get("/account/").status_code == 200


@pytest.mark.parametrize(
    ("password", "why"),
    [
        ("fourteen chars", "too short"),  # 14
        ("passwordpassword", "repeats|common"),
        ("aaaaaaaaaaaaaaaaaaaa", "repeats"),
        ("abcabcabcabcabcabc", "repeats"),
        ("12345678901234567", "repeats"),
        ("abcdefghijklmnopq", "repeats"),
        ("qwertyuiopasdfghjkl", "repeats"),
        ("BRANDT and a lamp!", "Leave out"),
        ("a lamp in corner house", "Leave out"),
        ("Côrner of the street", "Leave out"),
    ],
)
def test_what_is_weak_is_refused(salon: Salon, password: str, why: str) -> None:
    """NIST SP 800-63B-4, 3.1.1.2: 15 characters where a password stands alone; a blocklist
    of common ones, repetitive or sequential characters, and the names of person and service."""
    ada = Staff(salon=salon, username="ada", display_name="Ada Brandt")
    with pytest.raises(ValidationError, match=why):
        validate_password(password, ada)


@pytest.mark.parametrize(
    "password",
    [
        NEW,
        "ein Löffel voll Mondlicht",
        "月の下で七つの匙が歌っていました",
        "x7#" + "kq" + "Vm2!pLw9zRt4",
    ],
)
def test_no_rule_of_composition_is_asked(salon: Salon, password: str) -> None:
    """The same section: all printing characters and spaces count, no mixture is demanded."""
    validate_password(password, Staff(salon=salon, username="ada", display_name="Ada Brandt"))


def test_a_password_may_be_128_letters_long(ada: Staff) -> None:
    """The same section asks that at least 64 be allowed."""
    long = " ".join(f"{word}{n}" for n, word in enumerate(["lamp", "spoon", "moon"] * 9))[:128]

    assert _change(_sign_in(OLD), OLD, long).status_code == 302
    assert _is_in(_sign_in(long))


def test_a_changed_password_ends_every_other_session(ada: Staff) -> None:
    here, elsewhere = _sign_in(OLD), _sign_in(OLD, IPAD)
    before = here.session.session_key

    wrong = _change(here, "not it", NEW)
    differ = _change(here, OLD, NEW, NEW + "!")
    same = _change(here, OLD, OLD)
    assert [one.status_code for one in (wrong, differ, same)] == [422] * 3
    done = _change(here, OLD, NEW, next="/day/")

    assert done.headers["Location"] == "/day/"
    assert _is_in(here)
    assert here.session.session_key != before
    assert not _is_in(elsewhere)
    assert not _is_in(_sign_in(OLD))
    assert _is_in(_sign_in(NEW))
    kinds = AuditEvent.objects.order_by("pk").values_list("kind", flat=True)
    assert list(kinds)[2:] == ["password changed", "sign-in refused", "signed in"]


def test_each_session_is_listed_and_ended_by_its_owner_only(ada: Staff, salon: Salon) -> None:
    here, tablet = _sign_in(OLD), _sign_in(OLD, IPAD)
    page = here.get("/account/").text
    assert "Safari · iPad" in page
    key = present(tablet.session.session_key)
    mark = accounts.mark_of(key)
    assert key not in page
    stranger = Browser()
    stranger.force_login(
        StaffFactory(salon=salon), backend="django.contrib.auth.backends.ModelBackend"
    )

    stranger.post(reverse("salon:end_session"), {"session": mark})
    assert _is_in(tablet)
    here.post(reverse("salon:end_session"), {"session": mark})

    assert not _is_in(tablet)
    assert _is_in(here)
    assert "iPad" not in here.get("/account/").text
    assert (
        "has already ended"
        in here.post(reverse("salon:end_session"), {"session": mark}, follow=True).text
    )


def test_an_owner_resets_and_the_password_is_changed_at_the_next_sign_in(
    ada: Staff, owner: Staff, client_for: SignIn
) -> None:
    lost = _sign_in(OLD)
    shown = client_for(owner).post(reverse("salon:reset_password", args=[ada.pk]))
    once = shown.text.split("<code>")[1].split("</code>")[0]
    assert shown.headers["Cache-Control"] == "no-store"
    assert not _is_in(lost)
    assert len(once.replace("-", "")) == 16

    browser = _sign_in(once)
    shut = browser.get("/day/")
    assert shut.headers["Location"] == "/account/?next=%2Fday%2F"
    assert browser.post("/clients/new/", {"name": "X"}).headers["Location"] == "/account/?"
    assert "Choose a password of your own" in browser.get("/account/").text
    assert _change(browser, once, once).status_code == 422
    _change(browser, once, NEW)

    assert browser.get("/day/").status_code == 200
    ada.refresh_from_db()
    assert ada.one_time_until is None
    assert once not in str(list(AuditEvent.objects.values_list("detail", flat=True)))
    own = client_for(owner).post(reverse("salon:reset_password", args=[owner.pk]))
    assert own.headers["Location"] == "/account/"


def test_a_one_time_password_ends_after_three_days(ada: Staff, owner: Staff) -> None:
    once = services.reset_password(member=ada, by=owner, at=timezone.now())

    with time_machine.travel(timezone.now() + dt.timedelta(days=3, minutes=1)):
        answer = Browser().post("/sign-in/", {"username": "ada", "password": once})

    assert "has expired" in answer.text
    assert len({passwords.one_time_password() for _n in range(50)}) == 50


def test_what_an_owner_chose_first_is_changed_too(owner: Staff, client_for: SignIn) -> None:
    client_for(owner).post(
        reverse("salon:add_member"),
        {"display_name": "Berta", "username": "berta", "role": "stylist", "password": OLD},
    )

    assert _sign_in(OLD, username="berta").get("/today/").status_code == 302


@pytest.mark.parametrize(
    ("name", "why"),
    [
        ("ADA", "looks like"),
        ("ａｄａ", "already signs in"),  # full width, NFKC
        ("аdа", "looks like"),  # with a Cyrillic a
        ("раураl", "one script only"),
        ("асе", "looks like"),  # all Cyrillic, beside the Latin "ace"
        ("rnary", "looks like"),  # beside "mary"
        ("b0b1", "looks like"),  # beside "bobl"
    ],
)
def test_a_name_that_can_be_mistaken_is_refused(
    owner: Staff, ada: Staff, client_for: SignIn, name: str, why: str
) -> None:
    """UTS 39 names "раураl" (Cyrillic) against "paypal" as its example."""
    for other in ("ace", "mary", "bobl"):
        StaffFactory(salon=owner.salon, username=other)

    answer = client_for(owner).post(
        reverse("salon:add_member"),
        {"display_name": "X", "username": name, "role": "stylist", "password": OLD},
    )

    assert answer.status_code == 422
    assert why in answer.text


def test_names_of_other_scripts_are_names() -> None:
    for name in ("мария", "Ngọc-Ánh", "花子たろう", "mary.o", "иван1"):
        user_names.validate_one_script(name)
    assert user_names.skeleton("paypal") == user_names.skeleton("раураӏ".replace("ӏ", "l"))


def test_what_changed_of_a_member_is_recorded(
    owner: Staff, ada: Staff, client_for: SignIn
) -> None:
    services.change_member(
        member=ada, by=owner, at=timezone.now(), role=Role.RECEPTIONIST, is_active=True,
        display_name="Ada B.", email="ada@example.com",
    )  # fmt: skip

    assert AuditEvent.objects.get(kind="member changed").detail["changed"] == {
        "role": ["stylist", "receptionist"],
        "display_name": [],
        "email": [],
    }
    page = client_for(owner).get("/salon/record-of-changes/").text
    assert "role: Stylist → Receptionist" in page
    assert '<span class="soft">name</span>' in page


def test_who_leaves_is_out_at_once_and_their_bookings_are_listed(
    owner: Staff, ada: Staff, client_for: SignIn
) -> None:
    at_work = _sign_in(OLD)
    StaffPin.objects.create(staff=ada, secret="x", set_at=timezone.now())
    left = {"display_name": "Ada Brandt", "role": "stylist", "has_column": "on"}

    done = client_for(owner).post(reverse("salon:change_member", args=[ada.pk]), left)

    assert done.headers["Location"] == reverse("clients:leaving", args=[ada.pk])
    assert not StaffSession.objects.filter(staff_id=ada.pk).exists()
    assert not _is_in(at_work)
    assert not _is_in(_sign_in(OLD))
    assert not StaffPin.objects.filter(staff=ada).exists()


def test_expired_sessions_are_cleared_by_djangos_command(ada: Staff) -> None:
    from django.core.management import call_command

    _sign_in(OLD)
    StaffSession.objects.update(expire_date=timezone.now() - dt.timedelta(days=1))

    call_command("clearsessions")

    assert not StaffSession.objects.exists()
