"""The owner's practice: which of all mixes are offered."""

import datetime as dt
from decimal import Decimal

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.test import Client as Browser
from django.urls import reverse

from formulas import engine, services, suggestion
from formulas.models import PracticeRules, ProductLine
from formulas.practice_rules import practice_of, rules_in_force
from formulas.suggestion import ZoneInput
from salon.models import AuditEvent, Staff

ZONE = ZoneInput(lifted_level=8.0)


def test_a_salon_without_its_own_practice_has_the_careful_one(line: ProductLine) -> None:
    assert practice_of(line) == (0, engine.Practice())


def test_a_change_is_a_new_row_with_an_event(owner: Staff, now: dt.datetime) -> None:
    services.revise_practice(by=owner, at=now, levels_below=Decimal(1))
    services.revise_practice(by=owner, at=now, most_shades=2)

    kept = list(PracticeRules.objects.order_by("number").values_list("number", "levels_below"))
    assert kept == [(1, Decimal(1)), (2, Decimal(2))]
    assert rules_in_force(salon=owner.salon).most_shades == 2
    assert AuditEvent.objects.filter(kind="practice revised").count() == 2


def test_only_the_owner_changes_it_and_within_reason(
    owner: Staff, stylist: Staff, now: dt.datetime
) -> None:
    with pytest.raises(PermissionDenied):
        services.revise_practice(by=stylist, at=now)
    for wrong in (
        {"levels_above": Decimal(10)},
        {"most_clear_percent": 101},
        {"most_shades": 0},
    ):
        with pytest.raises(ValidationError):
            services.revise_practice(by=owner, at=now, **wrong)
    assert not PracticeRules.objects.exists()


def test_suggestions_follow_it_and_name_its_number(
    line: ProductLine, owner: Staff, now: dt.datetime
) -> None:
    services.revise_practice(
        by=owner, at=now, levels_below=Decimal(0), levels_above=Decimal(0),
        most_clear_percent=0, most_shades=2,
    )  # fmt: skip

    data = suggestion.suggest(line=line, zone=ZONE)

    levels = {line.shades.get(name=n).level for mix in data.mixes for n, _ in mix["parts"]}
    assert levels == {Decimal(8)}
    assert max(len(mix["parts"]) for mix in data.mixes) <= 2
    assert data.data_version.endswith("practice 1")


def test_the_scale_s_least_portion_is_heeded(
    line: ProductLine, owner: Staff, now: dt.datetime
) -> None:
    services.revise_mixing_rules(by=owner, at=now, least_grams=Decimal(8))

    mixes = suggestion.suggest(line=line, zone=ZONE).mixes

    colour = 60.0 / (1.0 + float(line.developer_ratio))
    for mix in mixes:
        parts = [part for _, part in mix["parts"]]
        assert colour * min(parts) / sum(parts) >= 8.0


def test_where_no_mix_keeps_to_it_all_are_offered_and_it_says_so(
    line: ProductLine, owner: Staff, now: dt.datetime
) -> None:
    services.revise_practice(by=owner, at=now, levels_below=Decimal(0), levels_above=Decimal(0))

    found = suggestion.suggest(line=line, zone=ZoneInput(lifted_level=3.0))

    assert not found.keeps_to_practice
    words = {mix["cost"] for mix in found.curve()["mixes"]}
    assert words == {"No mix from this stock follows your practice, so all mixes are offered."}


def test_what_practice_costs_is_said_mix_by_mix(line: ProductLine) -> None:
    found = suggestion.suggest(line=line, zone=ZONE)

    for mix, drawn in zip(found.mixes, found.curve()["mixes"], strict=True):
        if mix["practice_costs_levels"] < 0.25:
            assert "makes no visible difference" in drawn["cost"]
        else:
            assert f"look {mix['practice_costs_levels']:.1f} levels lighter" in drawn["cost"]
    between = next(mix for mix in found.named if mix.key == "between")
    assert between.practice_costs_levels < 0.25


def test_the_page_shows_and_changes_it(as_owner: Browser, owner: Staff) -> None:
    address = reverse("formulas:practice")
    page = as_owner.get(address).content.decode()
    assert "Every shade weighs at least 2 g" in page

    sent = {
        "levels_below": "1,5", "levels_above": "0.5", "most_clear_percent": "30",
        "most_shades": "2",
    }  # fmt: skip
    assert as_owner.post(address, sent).status_code == 302
    rules = rules_in_force(salon=owner.salon)
    assert (rules.levels_below, rules.levels_above) == (Decimal("1.5"), Decimal("0.5"))
    assert (rules.most_clear_percent, rules.most_shades, rules.simple_first) == (30, 2, False)

    wrong = as_owner.post(address, sent | {"levels_below": "12"})
    assert wrong.status_code == 422
    assert PracticeRules.objects.count() == 1
