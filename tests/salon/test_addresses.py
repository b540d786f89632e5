"""Sign-ins are counted by the client's address, not by that of the proxy before the salon."""

import pytest
from django.test import Client as Browser
from django.test import RequestFactory
from pytest_django import Settings

from salon.addresses import client_address
from salon.models import Staff

PROXY, TABLET, LIE = "10.0.0.1", "198.51.100.7", "203.0.113.9"


@pytest.mark.parametrize(
    ("count", "forwarded", "expected"),
    [
        (0, TABLET, PROXY),  # no proxy: the header is anybody's claim
        (1, TABLET, TABLET),
        (1, f"{LIE}, {TABLET}", TABLET),
        (2, f"{LIE}, {TABLET}, {PROXY}", TABLET),
        (2, TABLET, PROXY),  # too short for two proxies: not by way of them
        (1, "", PROXY),
        (1, "not an address", PROXY),
        (1, "2001:DB8::1", "2001:db8::1"),
    ],
)
def test_only_what_a_proxy_wrote_is_believed(
    settings: Settings, count: int, forwarded: str, expected: str
) -> None:
    settings.PROXY_COUNT = count
    request = RequestFactory().get("/", REMOTE_ADDR=PROXY, HTTP_X_FORWARDED_FOR=forwarded)

    assert client_address(request) == expected


def test_one_address_locked_out_leaves_another_in(
    db: None, settings: Settings, client: Browser, owner: Staff
) -> None:
    settings.PROXY_COUNT = 1
    owner.set_password("three kettles and a lamp")
    owner.save()

    def sign_in(password: str, address: str) -> int:
        return client.post(
            "/sign-in/",
            {"username": owner.username, "password": password},
            HTTP_X_FORWARDED_FOR=address,
            REMOTE_ADDR=PROXY,
        ).status_code

    for _again in range(settings.AXES_FAILURE_LIMIT):
        sign_in("wrong", LIE)

    assert sign_in("three kettles and a lamp", LIE) == 429
    assert sign_in("three kettles and a lamp", TABLET) == 302
