"""Every URL of the product as nobody, receptionist, stylist and owner, against one table."""

from collections.abc import Iterator
from typing import Any

import pytest
from django.http import HttpRequest, HttpResponse
from django.test import Client as Browser
from django.urls import (
    URLPattern,
    URLResolver,
    get_resolver,
    include,
    path,
    resolve,
    reverse,
)

from salon.access import BENCH, DESK, OWNER
from salon.models import Role, Salon
from tests.every_page import every_page
from tests.factories.salon import StaffFactory
from tests.project.role_table import OPEN, TABLE
from tests.typed import SignIn

ROLES = (None, Role.RECEPTIONIST, Role.STYLIST, Role.OWNER)
SAMPLES = {"pk": 1, "day": "2026-11-25", "key": "00000000-0000-4000-8000-000000000000"}


def _routes() -> Iterator[tuple[str, dict[str, object]]]:
    def walk(
        patterns: list[URLPattern | URLResolver], namespace: str
    ) -> Iterator[tuple[str, dict[str, object]]]:
        for pattern in patterns:
            if isinstance(pattern, URLResolver):
                inner = f"{pattern.namespace}:" if pattern.namespace else namespace
                yield from walk(pattern.url_patterns, inner)
            elif isinstance(pattern, URLPattern):
                yield f"{namespace}{pattern.name}", dict(pattern.pattern.converters)

    yield from walk(get_resolver().url_patterns, "")


ROUTES = dict(_routes())


def test_the_table_names_every_route_and_no_other() -> None:
    assert set(ROUTES) == set(TABLE) | OPEN


def _address(name: str) -> str:
    arguments = {
        key: SAMPLES.get(key, 1 if type(converter).__name__ == "IntConverter" else "x")
        for key, converter in ROUTES[name].items()
    }
    return reverse(name, kwargs=arguments)


@pytest.mark.parametrize("name", sorted(TABLE))
def test_a_route_opens_only_to_its_roles(client_for: SignIn, salon: Salon, name: str) -> None:
    """A stranger is sent to sign in; a wrong role gets 403; a right one gets past the gate.

    Ids of the sample addresses do not exist, so past the gate means anything but 401/403.
    """
    address = _address(name)
    people = {
        role: client_for(StaffFactory(salon=salon, role=role)) if role else Browser()
        for role in ROLES
    }
    for method in ("get", "post"):
        for role, browser in people.items():
            response = getattr(browser, method)(address)
            if role is None:
                assert response.status_code == 302, (name, method, role)
                assert response.headers["Location"].startswith("/sign-in/"), (name, method)
            elif role in TABLE[name]:
                assert response.status_code not in {401, 403}, (name, method, role)
            else:
                assert response.status_code == 403, (name, method, role)


def test_a_fragment_asked_for_by_a_stranger_leads_to_signing_in(db: None) -> None:
    response = Browser().get("/day/", headers={"HX-Request": "true"})

    assert response.status_code == 401
    assert response.headers["HX-Redirect"] == "/sign-in/"


def test_tiers_are_what_the_design_says() -> None:
    assert OWNER < BENCH < DESK


@pytest.mark.slow
def test_every_route_is_among_the_pages_that_are_photographed(db: None) -> None:
    """A route of an unknown kind of record raises LookupError and names itself."""
    assert {page.name for page in every_page()} <= set(TABLE)


def _bare(request: HttpRequest) -> HttpResponse:
    return HttpResponse("what nobody should see")


class _Forgetful:
    """The product's routes, and one whose view forgot `allow`."""

    urlpatterns = [path("bare/", _bare), path("", include("salon.urls"))]


def test_a_view_that_forgot_allow_is_closed_to_strangers(
    db: None, settings: Any, client_for: Any, salon: Salon
) -> None:
    settings.ROOT_URLCONF = _Forgetful

    stranger = Browser().get("/bare/")

    assert (stranger.status_code, stranger.headers["Location"][:9]) == (302, "/sign-in/")
    assert client_for(StaffFactory(salon=salon)).get("/bare/").status_code == 200


@pytest.mark.parametrize("name", sorted(OPEN))
def test_what_is_open_on_purpose_asks_nobody_to_sign_in(db: None, name: str) -> None:
    view = resolve(_address(name)).func

    assert getattr(view, "login_required", True) is False
