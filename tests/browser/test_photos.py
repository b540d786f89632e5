"""Photos on the tablet: asked once, previewed, sent over a network that comes and goes."""

import re
from pathlib import Path

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect
from pytest_django import Settings

from clients.models import Appointment, Consent, Photo, Status
from salon.models import Role, Salon, Staff
from tests.browser.conftest import TABLET, unexpected
from tests.factories.consult import Story, opened
from tests.factories.photos import from_a_phone
from tests.factories.salon import SalonFactory, StaffFactory
from tests.typed import Seat

PASSWORD = "three kettles and a lamp"


@pytest.fixture
def story(transactional_db: None, settings: Settings, tmp_path: Path) -> Story:
    settings.MEDIA_ROOT = tmp_path
    salon: Salon = SalonFactory()
    stylist: Staff = StaffFactory(salon=salon, role=Role.STYLIST, has_column=True)
    stylist.username = "stylist"
    stylist.set_password(PASSWORD)
    stylist.save()
    return opened(salon, stylist=stylist, at=timezone.now()).answer()


def _pick(page: Page, name: str, content: bytes, kind: str = "image/jpeg") -> None:
    with page.expect_file_chooser() as chooser:
        page.locator(".photos__pick", has_text="Take a photo").click()
    chooser.value.set_files({"name": name, "mimeType": kind, "buffer": content})


def test_a_photo_is_asked_for_taken_over_a_gap_and_deleted(story: Story, seat: Seat) -> None:
    page = seat("stylist", PASSWORD, viewport=TABLET, touch=True)
    page.goto(f"/visits/{story.visit.pk}/hair/")
    page.get_by_label("Scalp").fill("typed before the photo")
    shelf = page.locator("#photos-before")
    expect(shelf).to_contain_text("I agree that the salon takes photos")
    shelf.get_by_role("button", name="The client agrees").click()
    expect(shelf.get_by_text("Take a photo")).to_be_visible()
    assert Consent.objects.get(kind="photos").is_given

    _pick(page, "DSC_0001 Ada.jpg", from_a_phone(6, (2400, 1800)))
    tile = shelf.locator(".photos__tile")
    expect(tile.get_by_role("img")).to_be_visible()
    assert not Photo.objects.exists()
    tile.get_by_text("roots", exact=True).click()
    page.context.set_offline(True)
    tile.get_by_role("button", name="Save the photo").click()
    expect(tile).to_contain_text("No network. The photo is kept on this page: try again.")
    page.context.set_offline(False)
    tile.get_by_role("button", name="Try again").press("Enter")
    image = shelf.get_by_role("img", name=re.compile("^Before, roots, "))
    expect(image).to_be_visible()
    expect(tile).to_have_count(0)
    stands = "image => image.decode().then(() => image.naturalWidth < image.naturalHeight)"
    assert image.evaluate(stands)
    assert Photo.objects.get().part == "roots"

    _pick(page, "notes.exe", b"MZ" + b"\0" * 200, "application/octet-stream")
    tile.get_by_role("button", name="Save the photo").click()
    expect(tile).to_contain_text("This is not a photo.")
    tile.get_by_role("button", name="Discard").click()

    image.click()
    expect(page.get_by_role("dialog", name="Photo")).to_be_visible()
    page.keyboard.press("Escape")
    shelf.locator("summary", has_text="Delete").first.click()
    shelf.get_by_label("Why").select_option(label="shows someone else")
    shelf.get_by_role("button", name="Delete for good").click()
    expect(shelf).to_contain_text("1 photo deleted")
    expect(page.get_by_label("Scalp")).to_have_value("typed before the photo")
    faults = [one for one in unexpected(page) if "ERR_INTERNET_DISCONNECTED" not in one]
    assert faults == []
    assert Appointment.objects.get().status == Status.IN_SERVICE
