"""What was poured keeps its name and its price; what has no price says so."""

import datetime as dt
from collections.abc import Callable
from decimal import Decimal

from django.test import Client as Browser
from django.urls import reverse

from consult.history import costs
from consult.models import BowlLine, Visit
from formulas.models import ProductLine, Shade
from salon.models import Salon, Staff
from tests.factories.consult import opened


def test_a_new_price_and_a_new_name_change_no_past_visit(
    salon: Salon, stylist: Staff, now: dt.datetime, client_for: Callable[[Staff], Browser]
) -> None:
    story = opened(salon, stylist=stylist, at=now - dt.timedelta(hours=2))
    line = story.visit.line
    line.developer_bottle_price = Decimal(18)
    line.save()
    story.to_end()
    poured = list(BowlLine.objects.filter(bowl__visit=story.visit))
    developer = story.visit.bowls.get().developer_grams
    expected = sum((row.poured_grams for row in poured), Decimal(0)) * Decimal("0.12")
    expected += developer * Decimal("0.018")
    name = poured[0].shade.name

    Shade.objects.filter(pk=poured[0].shade_id).update(name="renamed", tube_price=99)
    ProductLine.objects.update(name="Other", developer_bottle_price=99)

    spent = costs.by_group(Visit.objects.filter(salon=salon)).of("line", line.pk)
    assert spent.cost == expected
    assert spent.cost_of_a_visit == expected
    assert spent.is_complete
    assert BowlLine.objects.get(pk=poured[0].pk).name == name
    assert story.visit.bowls.get().line_name == "Tidepool"
    page = client_for(stylist).get(reverse("consult:tones", args=[story.visit.client_id])).text
    record = page[page.index('<ol class="tones">') :]
    assert name in record
    assert "renamed" not in record
    assert "Tidepool" in record
    assert "Other" not in record


def test_without_a_price_nothing_is_free(
    salon: Salon, stylist: Staff, now: dt.datetime
) -> None:
    story = opened(salon, stylist=stylist, at=now - dt.timedelta(hours=2))
    Shade.objects.update(tube_price=0)
    story.to_end()

    spent = costs.by_group(Visit.objects.filter(salon=salon)).of("stylist", stylist.pk)
    assert spent.cost_of_a_visit is None
    assert spent.unpriced_grams == spent.grams > 0
    assert spent.unpriced_developer_grams == spent.developer_grams > 0
    assert BowlLine.objects.filter(price_per_gram__isnull=False).count() == 0
