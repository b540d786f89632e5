"""Pages of shades: by words, measured, clear; bad input refused."""

import datetime as dt
from decimal import Decimal

import pytest
from django.test import Client as Browser

from formulas import engine, services
from formulas.models import ProductLine, Shade
from salon.models import Salon, Staff
from tests.factories.formulas import LineFactory

SHADE = {
    "way": "words", "level": "8", "tone": "violet-blue", "body": "strong", "swatch": "",
    "name": "", "tube_grams": "60", "tube_price": "7.20", "version": "1",
}  # fmt: skip


def test_a_shade_by_words(as_owner: Browser, salon: Salon) -> None:
    line = LineFactory(salon=salon)

    as_owner.post(f"/lines/{line.pk}/shades/new/", SHADE)

    shade = line.shades.get()
    assert shade.name == "8 strong violet-blue"
    assert shade.tones == dict(engine.Shade.from_words(shade.name).tones)
    assert set(shade.tones) == {"violet", "blue"}
    line.refresh_from_db()
    assert line.data_version == 2


def test_a_shade_from_a_measured_swatch(as_owner: Browser, salon: Salon) -> None:
    line = LineFactory(salon=salon)
    swatch = "\n".join(f"{nm} {20 + nm / 50:.2f}" for nm in range(380, 731, 10))
    data = {**SHADE, "way": "measured", "swatch": swatch, "name": "8 harbour fog"}

    as_owner.post(f"/lines/{line.pk}/shades/new/", data)

    shade = line.shades.get()
    assert shade.reflectance is not None
    assert len(shade.reflectance) == 31
    assert shade.reflectance[0] == pytest.approx(0.28)
    assert as_owner.get(f"/lines/{line.pk}/").status_code == 200


def test_clear_has_no_level(as_owner: Browser, salon: Salon) -> None:
    line = LineFactory(salon=salon)

    as_owner.post(f"/lines/{line.pk}/shades/new/", {**SHADE, "way": "clear"})

    shade = line.shades.get()
    assert (shade.name, shade.level, shade.tones) == ("clear", None, {})


@pytest.mark.parametrize(
    "bad",
    [
        {"level": ""}, {"level": "0"}, {"level": "10.5"}, {"level": "7.3"}, {"level": "NaN"},
        {"tone": "mauve"}, {"tone": ""}, {"body": "mighty"}, {"way": "guess"},
        {"tube_grams": "0"}, {"tube_price": "-1"}, {"name": "x" * 61},
        {"way": "measured", "swatch": "", "name": "a"},
        {"way": "measured", "swatch": "1 2 3 4", "name": "a"},
        {"way": "measured", "swatch": "forty two", "name": "a"},
        {"way": "measured", "swatch": "200 0 0", "name": "a"},
        {"way": "measured", "swatch": "50 10 20", "name": ""},
        {"way": "measured", "swatch": " ".join(["0.5"] * 30 + ["-0.1"]), "name": "a"},
    ],
)  # fmt: skip
def test_a_shade_that_makes_no_sense_is_refused(
    as_owner: Browser, salon: Salon, bad: dict[str, str]
) -> None:
    line = LineFactory(salon=salon)

    page = as_owner.post(f"/lines/{line.pk}/shades/new/", {**SHADE, **bad})

    assert page.status_code == 422
    assert not line.shades.exists()


def test_editing_a_shade_shows_its_words_and_keeps_its_pigments(
    as_owner: Browser, line: ProductLine, shade: Shade
) -> None:
    page = as_owner.get(f"/shades/{shade.pk}/edit/")
    assert '<option value="violet-blue" selected>' in page.text

    line.refresh_from_db()
    data = {**SHADE, "body": "plain", "name": shade.name, "version": line.data_version}
    as_owner.post(
        f"/shades/{shade.pk}/edit/", {**data, "tube_price": "9.10", "is_active": "on"}
    )

    before, shade_now = shade.tones, Shade.objects.get(pk=shade.pk)
    assert shade_now.tones == before
    assert shade_now.tube_price == Decimal("9.10")


def test_a_stale_shade_is_told_apart(
    as_owner: Browser, line: ProductLine, shade: Shade, owner: Staff, now: dt.datetime
) -> None:
    data = {**SHADE, "body": "plain", "name": "mine", "version": line.data_version}
    services.change_shade(shade=shade, by=owner, at=now, name="theirs")

    page = as_owner.post(f"/shades/{shade.pk}/edit/", data)

    assert page.status_code == 409
    assert "theirs" in page.text
    assert 'value="mine"' in page.text
