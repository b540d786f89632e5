"""The salon's logo: decoded and written again, on papers and where one signs in."""

import io
from collections.abc import Callable

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client as Browser
from PIL import Image

from salon import logo
from salon.models import Salon, SalonLogo, Staff
from tests.factories.photos import from_a_phone
from tests.typed import Answer


def _png(size: tuple[int, int] = (900, 300)) -> bytes:
    out = io.BytesIO()
    Image.new("RGBA", size, (10, 80, 60, 0)).save(out, "PNG")
    return out.getvalue()


def _send(browser: Browser, content: bytes, name: str = "logo.png") -> Answer:
    return browser.post("/salon/logo/", {"file": SimpleUploadedFile(name, content)})


@pytest.fixture
def boss(client_for: Callable[[Staff], Browser], owner: Staff) -> Browser:
    return client_for(owner)


def test_it_is_drawn_anew_small_and_on_white(boss: Browser, salon: Salon) -> None:
    assert _send(boss, _png()).status_code == 302

    kept = Image.open(io.BytesIO(bytes(SalonLogo.objects.get().content)))
    assert (kept.format, kept.size) == ("JPEG", (480, 160))
    assert kept.convert("RGB").getpixel((5, 5)) == (255, 255, 255), "where it was clear"


def test_nothing_of_the_camera_is_left_in_it(boss: Browser) -> None:
    _send(boss, from_a_phone())

    kept = Image.open(io.BytesIO(bytes(SalonLogo.objects.get().content)))
    assert not kept.getexif()


@pytest.mark.parametrize(
    "content", [b"", b"<svg xmlns='http://www.w3.org/2000/svg'/>", b"GIF89a" + b"0" * 80,
                _png()[:200], _png((20, 20))],
)  # fmt: skip
def test_what_is_no_picture_is_refused_beside_the_field(boss: Browser, content: bytes) -> None:
    answer = _send(boss, content)

    assert answer.status_code == 422
    assert "This picture cannot be used." in answer.text
    assert not SalonLogo.objects.exists()


def test_the_sign_in_page_shows_it_where_there_is_one_salon(
    boss: Browser, salon: Salon
) -> None:
    assert "salon-logo" not in Browser().get("/sign-in/").text
    _send(boss, _png())

    page = Browser().get("/sign-in/").text
    assert 'class="salon-logo"' in page
    assert Browser().get("/salon/logo.jpg").headers["Content-Type"] == "image/jpeg"

    Salon.objects.create(name="Other")
    assert "salon-logo" not in Browser().get("/sign-in/").text
    assert Browser().get("/salon/logo.jpg").status_code == 404


def test_papers_carry_it_and_without_it_nothing(
    boss: Browser, salon: Salon, caplog: pytest.LogCaptureFixture
) -> None:
    before = boss.get("/stock/order.pdf").content
    _send(boss, _png())
    after = boss.get("/stock/order.pdf").content

    assert logo.as_data(salon).startswith("data:image/jpeg;base64,")
    assert b"/Subtype /Image" in after
    assert b"/Subtype /Image" not in before
    assert "alt" not in caplog.text, "PDF/UA asks for words in place of a picture"


def test_removed_it_is_gone(boss: Browser) -> None:
    _send(boss, _png())
    boss.post("/salon/logo/remove/")

    assert not SalonLogo.objects.exists()
    assert "No logo yet" in boss.get("/salon/logo/").text
