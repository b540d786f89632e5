"""Who is of age for colour but no adult: a guardian signs, by name, frozen and printed.

The youngest age for colour is the policy's (16 by Regulation (EC) 1223/2009, Annex III);
of age at 18 is common practice, no source: local law says.
"""

import datetime as dt
import io
import json

import pytest
from django.test import Client as Browser
from django.urls import reverse
from pypdf import PdfReader

from consult import services
from consult.paper import content, pdf
from salon.models import Salon, Staff
from tests.factories.consult import Story, cleared_client, opened, stocked_line


def _of_age(salon: Salon, stylist: Staff, now: dt.datetime, years: int) -> Story:
    at = now - dt.timedelta(hours=2)
    line = stocked_line(salon, by=stylist, at=at)
    born = at.date().replace(year=at.year - years) - dt.timedelta(days=40)
    cleared_client(salon, line, by=stylist, at=at, name="Ida Lund", born=born)
    story = opened(salon, stylist=stylist, at=at, name="Ida Lund")
    story.answer().read()
    story.choose()
    return story


@pytest.fixture
def minor(salon: Salon, stylist: Staff, now: dt.datetime) -> Story:
    return _of_age(salon, stylist, now, 17)


@pytest.mark.parametrize("name", ["Ida Lund", "  ida  LUND "])
def test_a_minor_cannot_sign_as_their_own_guardian(minor: Story, name: str) -> None:
    with pytest.raises(services.SigningRefused, match="guardian's name"):
        minor.sign(signed_name=name, guardian_of="Ida Lund")


def test_the_page_asks_for_the_guardian_and_freezes_who_it_was(
    minor: Story, tablet: Browser
) -> None:
    address = reverse("consult:sign", args=[minor.visit.pk])
    page = tablet.get(address).text
    assert "Name of the parent or guardian" in page
    assert 'name="signed_name" value="Ida Lund"' not in page

    tablet.post(
        address,
        {
            "version": minor.visit.version,
            "choice": minor.visit.choices.get().pk,
            "method": "typed",
            "signed_name": "Marit Lund",
            "has_understood": "on",
        },
    )

    signed = minor.visit.sign_offs.get()
    frozen = json.loads(signed.snapshot)["signed"]
    assert (frozen["name"], frozen["guardian_of"]) == ("Marit Lund", "Ida Lund")
    sheet = pdf.printed("cards/sign_off.html", content.sign_off_sheet(signed))
    text = PdfReader(io.BytesIO(sheet.content)).pages[0].extract_text()
    assert "Signed as guardian of" in text
    assert "Marit Lund" in text


def test_who_is_eighteen_signs_alone(salon: Salon, stylist: Staff, now: dt.datetime) -> None:
    story = _of_age(salon, stylist, now, 18)

    assert story.sign().guardian_of == ""


def test_no_guardian_opens_colour_under_the_policys_age(
    salon: Salon, stylist: Staff, now: dt.datetime
) -> None:
    story = _of_age(salon, stylist, now, 15)
    story.sign(signed_name="Marit Lund", guardian_of="Ida Lund")

    with pytest.raises(services.GateShut, match="under 16"):
        story.decide()
