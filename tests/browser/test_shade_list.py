"""A line of forty shades from a spreadsheet: pasted, looked at, added in three presses."""

from playwright.sync_api import expect

from formulas.models import Shade
from tests.browser.conftest import DESK, PASSWORD, faults_of
from tests.factories.formulas import LineFactory
from tests.factories.salon import StaffFactory
from tests.typed import Seat

TONES = ("natural", "violet", "violet-blue", "pearl", "blue", "gold", "beige", "copper")
ROWS = "Level\tTone\tPrice\tTube\tAllergens\n" + "\n".join(
    f"{level}\t{tone}\t7,{level}0\t60 g\tresorcinol"
    for level in (6, 7, 8, 9, 10)
    for tone in TONES
)


def test_forty_rows_of_a_spreadsheet_become_a_line(seat: Seat) -> None:
    line = LineFactory()
    owner = StaffFactory(salon=line.salon, username="brigid", role="owner")
    owner.set_password(PASSWORD)
    owner.save()
    page = seat("brigid", PASSWORD, viewport=DESK)
    page.goto(f"/lines/{line.pk}/")

    page.get_by_role("link", name="Add shades from a list").click()
    page.get_by_label("Rows").fill(ROWS)
    page.get_by_role("button", name="Preview").click()
    expect(page.get_by_role("heading", name="40 shades to add")).to_be_visible()
    page.get_by_role("button", name="Add 40 shades").click()

    expect(page.locator("#toasts")).to_contain_text("40 shades are added.")
    assert Shade.objects.filter(line=line, tube_price="7.80").count() == len(TONES)
    assert faults_of(page) == []
