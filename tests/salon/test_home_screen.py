"""The home screen's parts are the same for everyone and name nobody.

Outside check: the members and their values against the W3C Web Application Manifest
(https://www.w3.org/TR/appmanifest/, from memory); the icons against the sizes that browsers
ask for before they offer to install (192 and 512, from memory of Chromium's criteria).
"""

import json
import re
from typing import Any

import pytest
from django.conf import settings
from django.contrib.staticfiles import finders
from django.contrib.staticfiles.storage import ManifestStaticFilesStorage
from django.test import Client as Browser
from django.test import override_settings
from PIL import Image
from pytest_django import Settings

from salon import home_screen
from salon.models import Staff
from tests.typed import SignIn, present

MEMBERS = {
    "id", "name", "short_name", "lang", "dir", "start_url", "scope", "display", "theme_color",
    "background_color", "icons",
}  # fmt: skip
TOKENS = (settings.BASE_DIR / "static/css/tokens.css").read_text()


def _static(path: str) -> str:
    found = finders.find(path)
    assert isinstance(found, str)
    return found


@pytest.fixture
def manifest(db: None) -> dict[str, Any]:
    found: dict[str, Any] = Browser().get("/manifest.webmanifest").json()
    return found


def test_the_manifest_holds_members_of_the_standard(manifest: dict[str, Any]) -> None:
    assert set(manifest) == MEMBERS
    assert manifest["display"] == "standalone"
    assert manifest["dir"] in {"ltr", "rtl", "auto"}
    assert manifest["start_url"].startswith(manifest["scope"])
    assert len(manifest["short_name"]) <= 15
    for icon in manifest["icons"]:
        assert set(icon) == {"src", "sizes", "type", "purpose"}
        assert set(icon["purpose"].split()) <= {"any", "maskable", "monochrome"}


def test_the_icons_have_the_sizes_they_declare(manifest: dict[str, Any]) -> None:
    sizes = set()
    for icon in manifest["icons"]:
        with Image.open(_static(icon["src"].removeprefix("/static/"))) as picture:
            assert f"{picture.width}x{picture.height}" == icon["sizes"]
            assert Image.MIME[present(picture.format)] == icon["type"]
        sizes.add((icon["sizes"], icon["purpose"]))

    assert {("192x192", "any"), ("512x512", "any"), ("512x512", "maskable")} <= sizes


def test_the_colours_are_tokens(manifest: dict[str, Any]) -> None:
    for colour in (manifest["theme_color"], manifest["background_color"]):
        assert f": {colour};" in TOKENS


def test_strands_stand_where_a_round_mask_leaves_them() -> None:
    """W3C: the safe zone of a maskable icon is a circle of 40 % of the width, from memory."""
    with Image.open(_static("img/icon-maskable-512.png")) as picture:
        grey = picture.convert("L")
    ground = grey.getpixel((0, 0))
    outside = [
        grey.getpixel((x, y))
        for x in range(0, 512, 4)
        for y in range(0, 512, 4)
        if (x - 256) ** 2 + (y - 256) ** 2 > (0.4 * 512) ** 2
    ]

    assert set(outside) == {ground}


@pytest.mark.parametrize(
    "address", ["/manifest.webmanifest", "/service-worker.js", "/offline/"]
)
def test_it_is_the_same_for_everyone_and_names_no_salon(
    client_for: SignIn, stylist: Staff, address: str
) -> None:
    someone, nobody = client_for(stylist).get(address), Browser().get(address)

    assert someone.content == nobody.content
    assert someone.status_code == 200
    assert "no-cache" in someone.headers["Cache-Control"]
    assert stylist.salon.name.encode() not in someone.content
    assert stylist.display_name.encode() not in someone.content
    assert not someone.cookies


def test_the_worker_may_rule_the_whole_site_and_keeps_static_files_alone(db: None) -> None:
    response = Browser().get("/service-worker.js")
    kept = json.loads(present(re.match(r"self\.KEPT = (.*);", response.text)).group(1))

    assert response.headers["Content-Type"].startswith("text/javascript")
    assert response.headers["Service-Worker-Allowed"] == "/"
    assert kept["offline"] == "/offline/"
    assert all(path.startswith("/static/") for path in kept["needs"])
    assert all(finders.find(path.removeprefix("/static/")) for path in kept["needs"])
    assert kept["versioned"] is False  # a developer's machine: the network first


class HashedStorage(ManifestStaticFilesStorage):
    """Hashed names as in a salon, without collecting the files."""

    manifest_hash = "0123456789ab"

    def stored_name(self, name: str) -> str:
        if not finders.find(name):
            raise ValueError(f"Missing staticfiles manifest entry for '{name}'")
        stem, _dot, ending = name.rpartition(".")
        return f"{stem}.0123456789ab.{ending}"


def test_in_a_salon_the_worker_keeps_files_under_their_hashed_names(db: None) -> None:
    backends = {**settings.STORAGES, "staticfiles": {"BACKEND": f"{__name__}.HashedStorage"}}
    with override_settings(LOCAL=False, STORAGES=backends):
        response = Browser().get("/service-worker.js")
        manifest = Browser().get("/manifest.webmanifest").json()
    kept = json.loads(present(re.match(r"self\.KEPT = (.*);", response.text)).group(1))

    assert kept["versioned"] is True
    assert kept["static"] == "/static/"
    assert "/static/bundles/common.0123456789ab.css" in kept["needs"]
    assert manifest["icons"][0]["src"] == "/static/img/icon-192.0123456789ab.png"


def test_another_worker_takes_another_cache(db: None, monkeypatch: pytest.MonkeyPatch) -> None:
    before = Browser().get("/service-worker.js").text.splitlines()[0]
    monkeypatch.setattr(home_screen, "_release", lambda: "the next one")

    after = Browser().get("/service-worker.js").text.splitlines()[0]

    assert before != after


def test_every_page_leads_to_the_manifest(db: None) -> None:
    page = Browser().get("/sign-in/").text

    assert '<link rel="manifest" href="/manifest.webmanifest">' in page
    assert "bundles/common.js" in page


@pytest.mark.parametrize(
    "address", ["/manifest.webmanifest", "/service-worker.js", "/offline/"]
)
def test_nothing_is_posted_here(db: None, address: str) -> None:
    assert Browser().post(address).status_code == 405


@pytest.mark.parametrize(
    ("language", "words"), [("en-gb", "full trust"), ("de", "volle Vertrauen")]
)
def test_a_device_learns_to_trust_the_salons_own_authority_before_it_does(
    settings: Settings, language: str, words: str, db: None
) -> None:
    settings.OWN_AUTHORITY = True
    settings.SECURE_SSL_REDIRECT = True
    settings.SECURE_REDIRECT_EXEMPT = [r"^trust/$", r"^static/"]

    page = Browser().get("/trust/", headers={"Accept-Language": language})

    assert page.status_code == 200  # over plain HTTP, signed out
    for name in ("iPad", "Android", "Windows", words, 'href="/trust/root.crt"', "HTTPS"):
        assert name in page.text, name
    assert Browser().get("/sign-in/").status_code == 301  # the rest is not


def test_where_every_device_trusts_the_address_the_start_page_opens(db: None) -> None:
    answer = Browser().get("/trust/")

    assert (answer.status_code, answer["Location"]) == (302, "/")
