"""The gate, the call list, the papers and a client list at the desk, in a real browser."""

import datetime as dt
import re
import subprocess
from pathlib import Path

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect
from pytest_django import Settings

from clients import services
from clients.models import AlertKind, Client, ClientImport, PatchTest, Status
from clients.people import possible_duplicates
from tests.browser.conftest import unexpected
from tests.browser.test_desk import PASSWORD, Hand, Shop, _at_the_desk, _book, _client, shop
from tests.browser.test_desk_day import _loads, _shot
from tests.clients.people.nasty_list import nasty_list
from tests.typed import Seat

__all__ = ["shop"]

MENU = ("Sign out", "Previous week", "Walk-in", "No answer", "Find")


def _on_paper(page: Page, name: str, folder: Path) -> str:
    """Print a page as the browser does and return the words on the paper."""
    page.emulate_media(media="print")
    kept = folder / f"{name}.pdf"
    page.pdf(path=kept, format="A4")
    page.emulate_media(media="screen")
    command = ["pdftotext", "-layout", str(kept), "-"]
    read = subprocess.run(command, check=True, capture_output=True)
    return re.sub("[\u2066-\u2069\u00a0]", "", read.stdout.decode())


@pytest.mark.both
def test_one_receptionist_does_not_get_past_the_gate(shop: Shop, seat: Seat) -> None:
    phone = "+441174960101"
    untested, tested = _client(shop, "Bjork Isleif"), _client(shop, "Chiara", tested_days_ago=9)
    child = _client(shop, "Mia Kindt")
    Client.objects.filter(pk__in=[untested.pk, tested.pk]).update(phone=phone)
    Client.objects.filter(pk=tested.pk).update(birth_date=dt.date(1998, 1, 1))
    Client.objects.filter(pk=child.pk).update(birth_date=dt.date(2012, 5, 5))
    possible_duplicates.refresh([untested.pk, tested.pk])
    one = _book(shop, untested, 15)
    page = _at_the_desk(seat).page

    # a shared phone: the household is offered, no merge
    page.goto("/clients/duplicates/")
    expect(page.get_by_role("button", name="Same household")).to_be_visible()
    expect(page.get_by_role("link", name="Same person")).to_have_count(0)
    # typed into the address all the same, it wants a colleague's PIN
    page.goto(f"/clients/merge/?kept={untested.pk}&merged={tested.pk}")
    page.get_by_role("button", name="Merge", exact=True).click()
    expect(page.get_by_text("You cannot do this alone.")).to_be_visible()
    assert not Client.objects.filter(merged_into__isnull=False).exists()

    # placed 49 hours ago, by my own word
    page.goto(f"/clients/{untested.pk}/patch-tests/place/")
    page.get_by_label("Batch").fill("B-7")
    page.get_by_label("Placed at").fill("2026-11-21T09:00")
    page.get_by_role("button", name="Save the test").click()
    expect(page.get_by_text("Give a reason.")).to_be_visible()
    expect(page.get_by_label("Batch")).to_have_value("B-7")
    assert not PatchTest.objects.filter(client=untested).exists()

    # a birth date over the age line
    page.goto(f"/clients/{child.pk}/edit/")
    page.locator("#id_birth_date").fill("1999-05-05")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_text("Only the owner can change it")).to_be_visible()

    page.goto(f"/appointments/{one.pk}/")
    page.get_by_role("button", name="Check in").click()
    expect(page.get_by_text("Not checked in")).to_be_visible()
    one.refresh_from_db()
    assert one.status == Status.BOOKED
    assert unexpected(page) == []


@pytest.mark.both
def test_danger_stays_on_screen_and_on_paper(shop: Shop, seat: Seat, tmp_path: Path) -> None:
    now = timezone.now()
    ann = _client(shop, "Ann Lee", tested_days_ago=20)
    here = _book(shop, ann, 10, 15)
    services.check_in(appointment=here, by=shop.desk, at=now)
    services.record_patch_test_reading(
        test=PatchTest.objects.get(client=ann),
        outcome="reaction",
        signs="red",
        by=shop.desk,
        at=now,
    )
    bea = _client(shop, "Bea Moss")
    services.raise_alert(client=bea, kind=AlertKind.ALLERGY, text="Latex", by=shop.desk, at=now)
    untested = _book(shop, bea, 15, quoted_price="64.00")
    hand = _at_the_desk(seat)
    page = hand.page

    block = page.locator(f"li:has(> #appointment-{here.pk})")
    expect(block).to_contain_text("Reacted")
    expect(page.locator(f"#appointment-{untested.pk}")).to_contain_text("allergy")
    _shot(page, "danger-1440")
    on_paper = _on_paper(page, "day", tmp_path)
    assert "Ann Lee" in on_paper
    assert "Reacted" in on_paper
    page.emulate_media(media="print")
    badge = block.locator(".badge--stop").first
    assert badge.evaluate("one => getComputedStyle(one).color") == "rgb(0, 0, 0)"
    page.emulate_media(media="screen")

    page.goto("/day/2026-11-23/sheet/")
    sheet = _on_paper(page, "day-sheet", tmp_path)
    assert "STOP: Reacted: no colour" in sheet
    assert "STOP: No patch test" in sheet
    assert "allergy: Latex" in sheet
    page.goto(f"/appointments/{untested.pk}/slip/")
    slip = _on_paper(page, "slip", tmp_path)
    assert "Monday 23 November 2026, 15:00" in slip
    assert "64.00" in slip
    for paper in (sheet, slip):
        assert not [word for word in MENU if word in paper]


@pytest.mark.both
def test_a_call_is_made_and_printed(shop: Shop, seat: Seat, tmp_path: Path) -> None:
    bea = _client(shop, "Bea Moss")
    Client.objects.filter(pk=bea.pk).update(contact_by="phone", phone="+441174960102")
    tomorrow = timezone.now() + dt.timedelta(days=1)
    one = services.book_appointment(
        client=bea, service=shop.cut, line=None, stylist=shop.stylists[0],
        starts_at=tomorrow.replace(hour=15, minute=0, second=0, microsecond=0),
        by=shop.desk, at=timezone.now(),
    )  # fmt: skip
    hand = _at_the_desk(seat)
    hand.requests.clear()
    hand.loads = 0

    hand.click(hand.page.get_by_role("link", name="Call list"))
    expect(hand.page.locator("#calls")).to_contain_text("1 call to make")
    expect(hand.page.locator("a[href='tel:+44-117-496-0102']")).to_be_visible()
    hand.page.wait_for_load_state("load")
    paper = _on_paper(hand.page, "calls", tmp_path)
    assert "Bea Moss" in paper
    assert "+44 117 496 0102" in paper
    assert not [word for word in MENU if word in paper]
    hand.click(hand.page.get_by_role("button", name="Confirmed"))
    expect(hand.page.locator("#calls")).to_contain_text("0 calls to make")
    one.refresh_from_db()
    assert one.confirmed_at
    print("a call:", hand.clicks, "clicks,", hand.keys, "keys,", _loads(hand), "page loads")
    assert hand.clicks == 2


def test_the_form_can_be_sent_with_everything_open(shop: Shop, seat: Seat) -> None:
    client = _client(shop, "Ngozi Adichie-Okonkwo", tested_days_ago=20)
    page = _at_the_desk(seat).page
    page.goto(f"/appointments/new/?client={client.pk}")
    page.wait_for_load_state("load")
    expect(page.locator("#booking-day [data-pick]").first).to_be_visible()

    page.get_by_text("Chair, note, price, repeat").click()

    for size in ((1440, 900), (1024, 768), (820, 1180)):
        page.set_viewport_size({"width": size[0], "height": size[1]})
        expect(page.get_by_role("button", name="Book", exact=True)).to_be_in_viewport(ratio=1)
        _shot(page, f"booking-open-{size[0]}")


def test_a_nasty_list_is_taken_in(
    shop: Shop, seat: Seat, tmp_path: Path, settings: Settings
) -> None:
    settings.PHONENUMBER_DEFAULT_REGION = "DE"
    file = tmp_path / "clients.csv"
    nasty = nasty_list(rows=200)  # of 2,000 rows the same clicks, and more waiting
    file.write_bytes(nasty.content)
    hand = Hand(seat("owner", PASSWORD, viewport={"width": 1440, "height": 900}))
    expect(hand.page.get_by_role("link", name="Clients")).to_be_visible()
    hand.page.goto("/clients/")
    hand.page.wait_for_load_state("load")
    hand.requests.clear()
    hand.loads = 0

    hand.click(hand.page.get_by_role("link", name="Import and export"))
    hand.clicks += 1
    hand.page.locator("input[type=file]").set_input_files(file)
    hand.click(hand.page.get_by_role("button", name="Preview"))
    expect(hand.page.locator("#import_preview")).to_be_visible()
    _shot(hand.page, "import-1440")
    hand.page.wait_for_load_state("load")
    hand.click(hand.page.get_by_role("button", name="Import all rows"))
    expect(hand.page.get_by_role("button", name="Undo this import")).to_be_visible()

    found = ClientImport.objects.get()
    share = found.added_count / nasty.named
    print(
        "nasty file:", hand.clicks, "clicks,", hand.keys, "keys,", _loads(hand), "page loads;",
        found.added_count, "of", nasty.named, "rows with a name,", f"{share:.1%}",
    )  # fmt: skip
    assert share >= 0.95
    assert hand.clicks == 4
