"""The whole visit, and the salon around it, for someone who reads German."""

import datetime as dt
import io
import re
from decimal import Decimal

import pytest
from django.test import Client as Browser
from django.urls import NoReverseMatch, reverse
from pypdf import PdfReader

from consult.models import BowlMixed, SignOff
from consult.selectors import choice_in_force, formulas_in_force, readings_in_force, sign_off_of
from salon.models import Role, Salon, Staff
from tests.consult.test_forms_posted import _hair as hair_form
from tests.factories.consult import Story, opened, zone
from tests.factories.salon import StaffFactory
from tests.german import leftovers, read
from tests.project.role_table import TABLE
from tests.typed import SignIn, present


@pytest.fixture
def salon(salon: Salon) -> Salon:
    salon.language = "de"
    salon.save()
    return salon


@pytest.fixture
def leni(salon: Salon) -> Staff:
    """An owner who works at the chair and reads German."""
    return StaffFactory(salon=salon, role=Role.OWNER, has_column=True, language="de")


@pytest.fixture
def tablet(client_for: SignIn, leni: Staff) -> Browser:
    return client_for(leni)


@pytest.fixture
def story(salon: Salon, leni: Staff, now: dt.datetime) -> Story:
    return opened(salon, stylist=leni, at=now - dt.timedelta(hours=2), name="Jörg Ebert")


def seen(browser: Browser, name: str, *args: object, query: str = "") -> str:
    """Return a page that speaks German and nothing else."""
    response = browser.get(reverse(name, args=args) + query, follow=True)
    html = response.content.decode()
    assert response.status_code == 200, (name, response.status_code)
    assert response.headers["Content-Language"] == "de", name
    assert read(html).lang == "de", name
    assert leftovers(html) == [], name
    return html


def test_every_step_of_a_visit_speaks_german(tablet: Browser, story: Story) -> None:
    pk = story.visit.pk
    seen(tablet, "consult:visit", pk)
    seen(tablet, "consult:safety", pk)
    story.answer()
    hair = seen(tablet, "consult:hair", pk)
    assert "Naturtonhöhe" in hair
    story.read(roots=zone(lifted_level=Decimal("7.5"), note="feucht"))
    assert 'value="7,5"' in seen(tablet, "consult:hair", pk)
    seen(tablet, "consult:choice", pk)
    story.choose()
    signing = seen(tablet, "consult:sign", pk)
    assert "aufgehellt auf Tonhöhe 7,5" in signing
    story.sign()
    seen(tablet, "consult:formula", pk)
    story.decide()
    assert "Teil" in seen(tablet, "consult:bench", pk)
    story.process().see()
    seen(tablet, "consult:result", pk)
    seen(tablet, "consult:card", pk)
    story.close()
    seen(tablet, "consult:visit", pk)
    seen(tablet, "consult:tones", story.visit.client_id)
    seen(tablet, "consult:histories")
    seen(tablet, "consult:today")


def test_the_front_desk_and_the_salon_speak_german(tablet: Browser, story: Story) -> None:
    visit = story.to_end()
    client, line = visit.client, visit.line
    pages = 0
    for name in sorted(TABLE):
        try:
            address = reverse(name)
        except NoReverseMatch:
            continue
        answer = tablet.get(address)
        if answer.status_code == 200 and "text/html" in answer.headers["Content-Type"]:
            seen(tablet, name)
            pages += 1
    assert pages > 25
    for name in ("detail", "edit", "care", "safety", "place_patch_test"):
        seen(tablet, f"clients:{name}", client.pk)
    seen(tablet, "clients:book", query=f"?client={client.pk}")
    seen(tablet, "clients:appointment", visit.appointment_id)
    seen(tablet, "clients:patch_slip", client.patch_tests.get().pk)
    for name in ("line", "edit_line", "composition", "new_shade"):
        seen(tablet, f"formulas:{name}", line.pk)
    shade = present(line.shades.exclude(level=None).first())
    seen(tablet, "formulas:edit_shade", shade.pk)
    seen(tablet, "formulas:shade_stock", shade.pk)


def test_grams_typed_with_a_comma_are_weighed_as_they_stand(
    tablet: Browser, story: Story
) -> None:
    story.to_bench()
    visit = story.visit
    visit.refresh_from_db()
    (formula,) = formulas_in_force(visit, sign_off_of(choice_in_force(visit)))
    lines = list(formula.lines.all())
    posted = {
        "version": visit.version,
        "formula": formula.pk,
        "developer_grams": "36,5",
        **{f"asked-{line.shade_id}": str(line.grams) for line in lines},
        **{f"in_bowl-{line.shade_id}": "on" for line in lines},
        **{f"poured-{line.shade_id}": f"{line.grams}".replace(".", ",") for line in lines},
    }

    response = tablet.post(reverse("consult:bench", args=[visit.pk]), posted)

    assert response.status_code == 302, response.content.decode()[:2000]
    bowl = BowlMixed.objects.get()
    assert bowl.developer_grams == Decimal("36.5")
    assert [row.poured_grams for row in bowl.lines.all()] == [line.grams for line in lines]


def test_half_levels_typed_with_a_comma_are_read(tablet: Browser, story: Story) -> None:
    story.answer()
    visit = story.visit
    visit.refresh_from_db()
    posted = hair_form(version=visit.version)
    for zone_name in ("roots", "mid_lengths", "ends"):
        posted[f"{zone_name}-lifted_level"] = "7,5"
        posted[f"{zone_name}-natural_level"] = "5.5"

    response = tablet.post(reverse("consult:hair", args=[visit.pk]), posted)

    assert response.status_code == 302
    rows = readings_in_force(visit).values()
    assert {row.lifted_level for row in rows} == {Decimal("7.5")}
    assert {row.natural_level for row in rows} == {Decimal("5.5")}


def test_a_refusal_speaks_german_beside_the_field(tablet: Browser, story: Story) -> None:
    response = tablet.post(
        reverse("clients:new"), {"name": "", "phone": "12", "birth_date": "2999-01-01"}
    )

    html = response.content.decode()
    assert response.status_code == 422
    assert leftovers(html) == []
    assert "Dieses Feld ist zwingend erforderlich." in html  # Django's own German
    assert "Das liegt in der Zukunft. Bitte prüfen Sie das Datum." in html


def pdf_text(response: object) -> str:
    content = response.content  # type: ignore[attr-defined]
    return " ".join(page.extract_text() for page in PdfReader(io.BytesIO(content)).pages)


def test_papers_speak_the_client_s_language_whoever_prints_them(
    client_for: SignIn, salon: Salon, story: Story
) -> None:
    visit = story.to_end()
    english = client_for(StaffFactory(salon=salon, role=Role.OWNER, language="en-gb"))

    card = english.get(reverse("consult:card_pdf", args=[visit.pk]))
    bench = english.get(reverse("consult:bench_card", args=[visit.pk]))

    assert card.headers["Content-Type"] == "application/pdf"
    told = pdf_text(card)
    assert "Abmattiert am" in told
    assert "Toned on" not in told
    assert "Predicted" in pdf_text(bench)  # the next stylist's own, in the reader's language


def test_a_sign_off_keeps_the_language_that_was_read(
    client_for: SignIn, salon: Salon, story: Story, leni: Staff
) -> None:
    story.answer().read()
    story.choose()
    story.sign()
    salon.language = "en-gb"
    salon.save()
    row = SignOff.objects.get()
    english = client_for(StaffFactory(salon=salon, role=Role.OWNER, language="en-gb"))

    sheet = english.get(reverse("consult:sign_off_pdf", args=[story.visit.pk, row.pk]))

    assert '"wording_language":"de"' in row.snapshot
    assert "Probesträhne von meinem eigenen Haar" in row.snapshot
    told = pdf_text(sheet)
    assert "Einverständnis 1" in told
    assert "Confirmed by the client" not in told


def test_a_client_with_a_language_of_their_own_reads_and_signs_in_it(
    client_for: SignIn, salon: Salon, story: Story
) -> None:
    client = story.visit.client
    client.language = "en-gb"
    client.save()
    story.visit.refresh_from_db()
    story.answer().read()
    german = client_for(story.by)

    handed = german.post(
        reverse("consult:hand_over", args=[story.visit.pk]),
        {"version": story.visit.version},
        follow=True,
    )

    assert handed.headers["Content-Language"] == "en-gb"
    assert "How would you like your colour?" in handed.content.decode()
    assert "levels deeper" in story.choose().places.get().statement


def test_the_slip_speaks_to_the_client_and_the_page_to_the_desk(
    client_for: SignIn, salon: Salon, story: Story
) -> None:
    english = client_for(StaffFactory(salon=salon, role=Role.RECEPTIONIST, language="en-gb"))
    test = story.visit.client.patch_tests.get()

    html = english.get(reverse("clients:patch_slip", args=[test.pk])).content.decode()

    assert '<article class="card stack form-narrow slip" lang="de">' in html
    assert "Achten Sie auf Rötung" in html
    assert "hinter dem linken Ohr" in html
    assert ">Print<" in html


def test_a_statement_says_its_numbers_with_a_comma(story: Story) -> None:
    story.answer().read()

    statement = story.choose().places.get().statement

    assert re.search(r"wirkt etwa|dunkler wirken", statement)
    assert re.search(r"\d,\d Tonhöhen", statement)
    assert not re.search(r"\d\.\d", statement)
