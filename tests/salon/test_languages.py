"""Which language is spoken to whom."""

import datetime as dt

import pytest
from django.conf import settings
from django.core.exceptions import PermissionDenied, ValidationError
from django.test import Client as Browser
from django.urls import reverse
from django.utils import translation

from salon import languages, services
from salon.models import AuditEvent, Salon, Staff
from tests.typed import SignIn

SIGN_IN = "/sign-in/"


def language_of(browser: Browser, address: str = SIGN_IN, **headers: str) -> str:
    return browser.get(address, follow=True, headers=headers).headers["Content-Language"]


def test_before_signing_in_the_browser_says_the_language(db: None) -> None:
    assert language_of(Browser(), accept_language="de-AT,de;q=0.9,en;q=0.5") == "de"
    assert language_of(Browser(), accept_language="fr,en;q=0.5") == "en-gb"
    assert language_of(Browser()) == "en-gb"


def test_a_choice_before_signing_in_is_kept_on_the_device(db: None) -> None:
    browser = Browser()

    answer = browser.post(reverse("salon:language"), {"language": "de", "next": SIGN_IN})

    assert answer.headers["Location"] == SIGN_IN
    assert browser.cookies[settings.LANGUAGE_COOKIE_NAME]["httponly"]
    assert language_of(browser, accept_language="en-GB") == "de"
    assert '<html lang="de" dir="ltr">' in browser.get(SIGN_IN).content.decode()


def test_a_member_s_choice_follows_them_to_every_device(
    client_for: SignIn, receptionist: Staff
) -> None:
    client_for(receptionist).post(reverse("salon:language"), {"language": "de"})

    elsewhere = client_for(Staff.objects.get(pk=receptionist.pk))

    assert language_of(elsewhere, "/", accept_language="en-GB") == "de"
    assert AuditEvent.objects.get(kind="language chosen").detail == {"language": "de"}


def test_two_people_on_one_tablet_read_their_own_languages(
    client_for: SignIn, receptionist: Staff, stylist: Staff, now: dt.datetime
) -> None:
    services.choose_language(language="de", by=receptionist, at=now)
    services.choose_language(language="en-gb", by=stylist, at=now)

    assert language_of(client_for(receptionist), "/") == "de"
    assert language_of(client_for(stylist), "/") == "en-gb"


def test_the_menu_offers_each_language_by_its_own_name(
    client_for: SignIn, receptionist: Staff
) -> None:
    html = " ".join(client_for(receptionist).get("/", follow=True).text.split())

    assert 'value="de" lang="de" aria-pressed="false">Deutsch<' in html
    assert 'value="en-gb" lang="en-gb" aria-pressed="true">English<' in html


@pytest.mark.parametrize("elsewhere", ["https://elsewhere.example/", "//elsewhere.example", ""])
def test_the_way_back_stays_on_this_site(db: None, elsewhere: str) -> None:
    answer = Browser().post(reverse("salon:language"), {"language": "de", "next": elsewhere})

    assert answer.headers["Location"] == reverse("salon:home")


def test_a_language_that_is_not_offered_is_refused(
    client_for: SignIn, owner: Staff, now: dt.datetime
) -> None:
    assert Browser().post(reverse("salon:language"), {"language": "xx"}).status_code == 400
    assert client_for(owner).get(reverse("salon:language")).status_code == 405
    with pytest.raises(ValidationError):
        services.choose_language(language="xx", by=owner, at=now)


def test_only_the_owner_chooses_what_clients_get(
    client_for: SignIn, owner: Staff, stylist: Staff, now: dt.datetime
) -> None:
    client_for(owner).post(reverse("salon:client_language"), {"language": "de"})

    assert Salon.objects.get(pk=owner.salon_id).language == "de"
    with pytest.raises(PermissionDenied):
        services.speak_to_clients(language="en-gb", by=stylist, at=now)


def test_a_language_taken_off_the_list_falls_back(owner: Staff) -> None:
    Staff.objects.filter(pk=owner.pk).update(language="xx")

    assert languages.first_known("xx", "de") == "de"
    assert languages.first_known("xx") == settings.LANGUAGE_CODE


def test_a_request_leaves_the_thread_s_language_as_it_was(
    client_for: SignIn, owner: Staff, now: dt.datetime
) -> None:
    services.choose_language(language="de", by=owner, at=now)
    with languages.speaking("en-gb"):
        client_for(owner).get(reverse("salon:house"))

    with languages.speaking("de"):
        assert str(translation.gettext("Sign out")) == "Abmelden"
