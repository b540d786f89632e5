"""What was poured keeps its name and its price; what has no price says so."""

import datetime as dt
from decimal import Decimal

from django.urls import reverse

from consult import services
from consult.history import costs
from consult.models import BowlLine, Visit
from formulas import services as formulary
from formulas.models import ProductLine, Shade
from salon.models import Salon, Staff
from tests.factories.consult import Story, opened, owner_of
from tests.typed import SignIn


def _spent(salon: Salon, now: dt.datetime) -> costs.Costs:
    since, until = now - dt.timedelta(days=30), now + dt.timedelta(days=1)
    visits = Visit.objects.filter(salon=salon)
    return costs.costs_of(visits, salon=salon, since=since, until=until)


def _priced(salon: Salon, stylist: Staff, at: dt.datetime, **more: str) -> Story:
    """A visit at the bench whose developer has a price."""
    story = opened(salon, stylist=stylist, at=at, **more)
    ProductLine.objects.filter(pk=story.visit.line_id).update(
        developer_bottle_price=18, developer_bottle_grams=1000
    )
    story.visit.line.refresh_from_db()
    return story.to_bench()


def test_a_new_price_and_a_new_name_change_no_past_visit(
    salon: Salon, stylist: Staff, now: dt.datetime, client_for: SignIn
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

    spent = _spent(salon, now).of("line", line.pk)
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

    spent = _spent(salon, now).of("stylist", stylist.pk)
    assert spent.cost_of_a_visit is None
    assert spent.unpriced_grams == spent.grams > 0
    assert spent.unpriced_developer_grams == spent.developer_grams > 0
    assert BowlLine.objects.filter(price_per_gram__isnull=False).count() == 0


def test_what_is_left_is_part_of_the_cost_and_named_beside_it(
    salon: Salon, stylist: Staff, now: dt.datetime
) -> None:
    story = _priced(salon, stylist, now - dt.timedelta(hours=2))
    story.process()
    bowl = story.visit.bowls.get()
    left = bowl.total_grams / 4
    services.weigh_leftover(
        bowl=story.fresh(bowl), grams=round(left, 1), by=stylist, at=story.later()
    )
    story.see()
    story.close()

    spent = _spent(salon, now).of_visit(story.visit.pk)
    share = round(left, 1) / bowl.total_grams
    assert spent.waste_grams == round(left, 1)
    assert abs(spent.waste_cost - spent.cost * share) < Decimal("0.0001")
    assert spent.total == spent.cost
    assert (spent.bowls, spent.weighed) == (1, 1)


def test_a_bowl_that_never_went_on_is_waste_and_one_not_asked_about_is_unknown(
    salon: Salon, stylist: Staff, now: dt.datetime
) -> None:
    story = _priced(salon, stylist, now - dt.timedelta(hours=2))
    (used,) = story.mix()
    (unused,) = story.mix()
    services.start_processing(bowl=story.fresh(used), by=stylist, at=story.later())

    spent = _spent(salon, now).of("line", story.visit.line_id)

    assert spent.waste_grams == unused.total_grams
    assert (spent.bowls, spent.weighed) == (2, 1)


def test_a_line_s_discards_are_shared_by_its_visits_at_the_price_of_that_day(
    salon: Salon, stylist: Staff, now: dt.datetime, client_for: SignIn
) -> None:
    first = _priced(salon, stylist, now - dt.timedelta(hours=5))
    first.to_end()
    line, owner = first.visit.line, owner_of(salon)
    shade = line.shades.first()
    assert shade
    formulary.discard_stock(shade=shade, grams=Decimal(30), by=owner, at=now)
    before = _spent(salon, now).of_visit(first.visit.pk)

    Shade.objects.update(tube_price=99)

    after = _spent(salon, now).of_visit(first.visit.pk)
    assert after.discarded_cost == before.discarded_cost == Decimal(30) * Decimal("0.12")
    assert after.total == after.cost + after.discarded_cost
    laptop = client_for(owner)
    listed = laptop.get(reverse("consult:visit_list")).text
    assert f"{after.total:.2f}" in listed
    sent = laptop.post(reverse("consult:results_csv"), {"table": "visits"}).content.decode()
    assert f"{after.total:.2f}" in sent


def test_a_closed_visit_says_its_cost_to_owners_alone(
    salon: Salon, stylist: Staff, now: dt.datetime, client_for: SignIn
) -> None:
    story = _priced(salon, stylist, now - dt.timedelta(hours=2))
    story.process().see().close()
    address = reverse("consult:visit", args=[story.visit.pk])

    owned = client_for(owner_of(salon)).get(address).text
    seen = client_for(stylist).get(address).text

    cost = costs.of_one(story.visit).total
    assert cost is not None
    assert f"Cost of colour and developer: {cost:.2f} EUR" in " ".join(owned.split())
    assert "Cost of colour and developer" not in seen
