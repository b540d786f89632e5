"""What a client reads is understood at the age of twelve, in both languages.

Each text by itself, so that an easy page hides no hard statement. School years 6 and 7 are
those of children of twelve (Kincaid et al. 1975; Bamberger and Vanecek 1984).
"""

import json
import re

import pytest
from django.template.loader import render_to_string
from django.test import Client as Browser
from django.urls import reverse

from clients.models import Client
from consult.models import SignOff
from consult.paper import content
from salon import languages
from tests import german, readability
from tests.factories.consult import Story

HARDEST_YEAR = 7.0
DIGEST = re.compile(r"\b[0-9a-f]{64}\b")


def _page(tablet: Browser, name: str, story: Story) -> str:
    response = tablet.get(reverse(f"consult:{name}", args=[story.visit.pk]))
    assert response.status_code == 200
    return response.text


def _statement(signed: SignOff) -> str:
    frozen = json.loads(signed.snapshot)
    texts = [place["statement"] for place in frozen["places"]] + frozen["understandings"]
    return "".join(f"<p>{text}</p>" for text in texts)


@pytest.mark.parametrize("language", ["en-gb", "de"])
def test_every_text_of_a_client_is_read_at_twelve(
    story: Story, tablet: Browser, language: str
) -> None:
    Client.objects.filter(pk=story.visit.client_id).update(language=language)
    story.visit.refresh_from_db()
    story.answer().read()
    tablet.post(reverse("consult:hand_over", args=[story.visit.pk]))
    texts = {"choice": _page(tablet, "client_choice", story)}
    with languages.speaking(language):
        story.choose()
    texts["sign"] = _page(tablet, "client_sign", story)
    with languages.speaking(language):
        signed = story.sign()
        texts["statement"] = _statement(signed)
        texts["sign-off sheet"] = render_to_string(
            "cards/sign_off.html", content.sign_off_sheet(signed)
        )
    texts["done"] = _page(tablet, "client_done", story)
    with languages.speaking(language):
        story.decide()
        visit = story.process().see().close()
        shown = content.visit_card(visit)
        texts["card"] = render_to_string("cards/visit.html", shown)
        texts["small card"] = render_to_string("cards/visit_small.html", shown)

    base = language.partition("-")[0]
    passages = {name: readability.passage(html, base) for name, html in texts.items()}
    sheet = passages["sign-off sheet"]
    digests = {text for text in sheet.sentences if DIGEST.search(text)}
    passages["sign-off sheet"] = sheet.without(digests)  # for whoever checks it by a program
    strip = set(passages["done"].sentences)  # of the network: the same on every page
    for name in ("choice", "sign"):
        passages[name] = passages[name].without(strip)

    few = {name: p.sentences for name, p in passages.items() if len(p.sentences) < 5}
    assert few == {}
    assert language == "en-gb" or all(german.leftovers(html) == [] for html in texts.values())
    hard = {
        f"{name}, year {passage.grade:.1f}": passage.hardest()
        for name, passage in passages.items()
        if passage.grade > HARDEST_YEAR
    }
    assert hard == {}
