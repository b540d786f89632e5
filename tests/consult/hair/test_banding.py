"""Bands across the hair change how the mix is applied and what is tested first."""

from django.test import Client as Browser
from django.urls import reverse
from django.utils import timezone

from consult.hair import banding, pretests
from consult.models import PreTestKind
from consult.selectors import readings_in_force
from tests.factories.consult import Story, zone


def test_bands_ask_for_a_strand_test_and_say_how_to_apply(
    story: Story, tablet: Browser
) -> None:
    story.answer().read(ends=zone(banding="marked"))
    story.choose()
    story.sign()

    strand = next(
        one
        for one in pretests.test_requests(story.visit, at=timezone.now())
        if one.kind == PreTestKind.STRAND
    )
    page = tablet.get(reverse("consult:formula", args=[story.visit.pk])).text

    assert "Bands in ends: test on a band and beside it." in strand.reasons
    assert "darker, warmer bands first" in page
    assert "Strong bands may need their own mix." in page


def test_even_hair_asks_for_nothing(story: Story) -> None:
    story.answer().read(ends=zone(banding="none"), roots=zone(banding=""))

    assert banding.advice(readings_in_force(story.visit).values()) == ""
