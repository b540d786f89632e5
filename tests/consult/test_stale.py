"""Two people on one visit: on every screen the second is told, and nothing is lost."""

from typing import Any

import pytest
from django.test import Client as Browser
from django.urls import reverse

from consult.forms.hair import HairForm
from consult.forms.result import ResultForm
from consult.forms.safety import SafetyForm
from consult.models import ZoneReading
from consult.screens.choice_head import ChoiceGroup
from tests.consult.test_views import STEPS, _told_to
from tests.factories.consult import Story
from tests.typed import Answer

HAIR = {
    "roots-natural_level": "5.0", "roots-lifted_level": "7.5", "roots-undertone": "0",
    "roots-white_percent": "0", "roots-porosity": "0", "mid_lengths-same": "on",
    "ends-same": "on", "texture": "medium", "density": "normal", "length": "shoulder",
}  # fmt: skip


@pytest.mark.parametrize("step", STEPS)
def test_a_save_on_an_old_version_is_refused_and_keeps_what_was_typed(
    story: Story, tablet: Browser, step: str
) -> None:
    _told_to(story, step)
    story.visit.refresh_from_db()
    version = story.visit.version
    page = reverse(f"consult:{step}", args=[story.visit.pk])
    form = _posted(tablet.get(page))
    readings = ZoneReading.objects.count()

    response = tablet.post(page, {**form, "version": version - 1})

    story.visit.refresh_from_db()
    assert response.status_code == 409
    assert "Someone else has worked on this visit since you opened it" in response.text
    assert story.visit.version == version
    assert ZoneReading.objects.count() == readings


def _posted(response: Answer) -> dict[str, Any]:
    """Return what the last form of a step's page would post, filled in well enough."""
    context = response.context
    first = next(iter(context.get("groups") or []), None)
    if "sheets" in context:
        form = context["sheets"][0].form
    elif isinstance(first, dict) and "form" in first:
        form = first["form"]
    else:
        form = context["form"]
    if form is None:  # the formula: take the first suggestion as it stands
        offer = context["offers"][0]
        parts = offer.recipes[0].parts
        return {
            "zones": offer.key, "bowl_grams": "60", "minutes": "20",
            **{f"parts-{pk}": str(part) for pk, part in parts.items()},
        }  # fmt: skip
    if isinstance(first, ChoiceGroup):
        return {**dict.fromkeys(form.fields, "40"), "wanted_level": ""}
    told: dict[str, Any] = {}
    for part in getattr(form, "forms", [form]):
        for bound in part:
            value = bound.value()
            if value is not None and value is not False:
                told[bound.html_name] = value
    fixed = {"safety": "no", "sign": "typed"}
    if "method" in told:
        told |= {"method": fixed["sign"], "has_understood": "on"}
    if isinstance(form, SafetyForm):
        told |= dict.fromkeys(form.fields, fixed["safety"])
    if isinstance(form, HairForm):  # empty until the hair is looked at
        told |= HAIR
    if isinstance(form, ResultForm):
        told |= {f"{key.replace(',', '-')}-unseen": "on" for key in form.groups}
    return told
