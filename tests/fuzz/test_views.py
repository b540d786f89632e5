"""Every address of the product, however odd what is sent to it: never an error of its own."""

import re
import traceback
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import transaction
from hypothesis import given, settings
from hypothesis import strategies as st
from pytest_django import Settings

from salon.models import Salon, Staff
from tests.factories.photos import REFUSED
from tests.fuzz.odd import QUICK, TIMES, WORST, bent, values
from tests.fuzz.world import AT, World, build, routes
from tests.project.role_table import OPEN, TABLE
from tests.typed import SignIn

pytestmark = [pytest.mark.slow, pytest.mark.django_db]

ROOT = Path(__file__).resolve().parent.parent.parent
# Each of these asks the engine anew, which takes a good part of a second.
DEAR = {"consult:choice", "consult:formula", "consult:prediction", "consult:sign"}


@pytest.fixture
def world(salon: Salon, settings: Settings, tmp_path: Path) -> Iterator[World]:
    settings.MEDIA_ROOT = tmp_path
    with time_machine.travel(AT, tick=True):
        yield build(salon)


def _names(where: str) -> list[str]:
    """Return every name that a view reads for itself, past any form."""
    found = set()
    for app in ("salon", "formulas", "clients", "consult"):
        for path in (ROOT / app).rglob("*.py"):
            text = path.read_text()
            found |= set(re.findall(rf"(?:{where}|values)(?:\.get\(|\[)\"(\w+)\"", text))
    return sorted(found)


def _every(act: Callable[[str, str], None]) -> dict[str, str]:
    """Do it for every route; return what went wrong, by route."""
    failures = {}
    for name, route in routes():
        assert name in TABLE or name in OPEN
        try:
            act(name, route)
        except Exception:
            failures[name] = traceback.format_exc()[-2500:]
    return failures


def _told(failures: dict[str, str]) -> str:
    return "\n\n".join(f"== {name}\n{text}" for name, text in failures.items())


@pytest.mark.postgres  # the stricter of the two; the forms alone are asked on both
def test_no_form_that_is_sent_makes_a_view_fall_over(world: World) -> None:
    fields = {name for form in world.forms.values() for name in form}
    read = _names("POST")
    files = [make() for make, _ in REFUSED.values() if len(make()) < 100_000]

    def act(name: str, route: str) -> None:
        address = world.address(name, route)
        good = world.forms.get(name) or {one: ["1"] for one in sorted(fields)[:60]}

        def send(body: dict[str, list[str]], is_htmx: bool, file: bytes) -> None:
            sent: dict[str, object] = {
                key: several for key, several in body.items() if key != "file"
            }
            if "file" in body:
                sent["file"] = [SimpleUploadedFile("a\u202e.csv", file)]
            headers = {"HX-Request": "true"} if is_htmx else {}
            with transaction.atomic():
                response = world.browser.post(address, sent, headers=headers, follow=True)
                transaction.set_rollback(True)
            assert response.status_code < 500, (response.status_code, body)

        for worst in WORST if TIMES > 1 else WORST[:2]:
            send({one: [worst] for one in (*good, *read)}, False, b"")
            for one in set(good) & set(read) - {"version"}:
                send({**good, one: [worst]}, False, b"")

        @settings(QUICK, max_examples=(1 if name in DEAR else 3) * TIMES)
        @given(bent(good), st.booleans(), st.sampled_from(files))
        def post(body: dict[str, list[str]], is_htmx: bool, file: bytes) -> None:
            send(body, is_htmx, file)

        post()

    failures = _every(act)

    assert failures == {}, _told(failures)


@pytest.mark.postgres
def test_no_address_makes_a_view_fall_over(world: World) -> None:
    names = [*_names("GET"), "page"]
    client = str(world.visits["result"].client_id)

    def act(name: str, route: str) -> None:
        address = world.address(name, route)

        def ask(query: dict[str, list[str]]) -> int:
            with transaction.atomic():
                response = world.browser.get(address, query)
                transaction.set_rollback(True)
            assert response.status_code < 500, (response.status_code, query)
            return response.status_code

        if ask({}) == 405:
            return
        for first, second in (WORST[:2], WORST[2:4]):
            ask({one: [first] for one in names})
            ask({**{one: [second] for one in names}, "client": [client]})

        @settings(QUICK, max_examples=TIMES)
        @given(st.dictionaries(st.sampled_from(names), values(), max_size=4))
        def get(query: dict[str, list[str]]) -> None:
            ask(query)

        get()

    failures = _every(act)

    assert failures == {}, _told(failures)


# Pressed on what a colleague or another tab removed, they lead back to the list, which says so.
LEAD_BACK = {"salon:change_salon", "salon:unlink_salon"}


@pytest.mark.parametrize("number", [2**63, 10**40])
def test_no_number_in_an_address_makes_a_view_fall_over(
    client_for: SignIn, owner: Staff, number: int
) -> None:
    browser = client_for(owner)

    def act(name: str, route: str) -> None:
        if "<int:" not in route:
            return
        address = "/" + re.sub(r"<int:\w+>", str(number), route)
        address = address.replace("<slug:moment>", "before").replace("<slug:kind>", "x")
        expected = {404, 405} | ({302} if name in LEAD_BACK else set())
        for method in (browser.get, browser.post):
            assert method(address).status_code in expected, address

    failures = _every(act)

    assert failures == {}, _told(failures)
