"""How much a bowl holds: the owner's table, and the least that is weighed of a shade.

The default amounts are common practice, no source; what is checked is that they are followed.
"""

import datetime as dt
from decimal import Decimal

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.test import Client as Browser
from django.urls import reverse

from formulas import mixing, services
from formulas.mixing_rules import rules_in_force, table_of
from formulas.models import MixingRules
from salon.models import Salon, Staff
from tests.typed import SignIn

ALL = ["roots", "mid_lengths", "ends"]


def test_one_bowl_for_all_holds_what_its_zones_hold_together() -> None:
    apart = sum(mixing.suggested_bowl_grams([zone]) for zone in ALL)

    assert mixing.suggested_bowl_grams(ALL) == apart == 80


@pytest.mark.parametrize(
    ("length", "density", "grams"),
    [("short", "fine", 50), ("shoulder", "normal", 80), ("long", "thick", 145)],
)
def test_length_and_density_are_followed(length: str, density: str, grams: int) -> None:
    """30 + (30 + 20) x 1.6 for long hair, x 1.3 for thick: 143 g, to full 5 g."""
    assert mixing.suggested_bowl_grams(ALL, length=length, density=density) == grams


def test_the_owner_s_table_is_followed(salon: Salon, owner: Staff, now: dt.datetime) -> None:
    before = table_of(salon)
    values = {name: getattr(rules_in_force(salon=salon), name) for name in _FIELDS}
    services.revise_mixing_rules(
        by=owner, at=now, **{**values, "roots_grams": Decimal(45), "scale_step": "0.5"}
    )

    table = table_of(salon)
    assert mixing.suggested_bowl_grams(["roots"], table=before) == 30
    assert mixing.suggested_bowl_grams(["roots"], table=table) == 45
    assert table.scale_step == Decimal("0.5")


_FIELDS = (
    "roots_grams", "mid_lengths_grams", "ends_grams", "short_factor", "shoulder_factor",
    "long_factor", "thin_factor", "normal_factor", "thick_factor", "least_bowl_grams",
    "least_grams", "scale_step",
)  # fmt: skip


def test_only_an_owner_changes_the_amounts_and_only_to_what_makes_sense(
    salon: Salon, owner: Staff, stylist: Staff, now: dt.datetime
) -> None:
    with pytest.raises(PermissionDenied):
        services.revise_mixing_rules(by=stylist, at=now)
    with pytest.raises(ValidationError):
        services.revise_mixing_rules(by=owner, at=now, long_factor=Decimal(9))
    with pytest.raises(ValidationError):
        services.revise_mixing_rules(by=owner, at=now, scale_step="0.2")

    assert not MixingRules.objects.exists()


def test_the_page_keeps_each_set_of_amounts(client_for: SignIn, owner: Staff) -> None:
    browser: Browser = client_for(owner)
    address = reverse("formulas:mixing_rules")
    form = browser.get(address).context["form"]
    values = {name: str(form[name].value()) for name in _FIELDS}

    refused = browser.post(address, {**values, "ends_grams": "0"})
    browser.post(address, {**values, "ends_grams": "25,5"})
    browser.post(address, {**values, "ends_grams": "26"})

    assert refused.status_code == 422
    kept = [row.ends_grams for row in MixingRules.objects.order_by("number")]
    assert kept == [Decimal("25.5"), Decimal(26)]


@pytest.mark.parametrize(
    ("parts", "bowl", "grown"),
    [((1, 5), 60, 60), ((1, 5), 20, 30), ((1, 2), 20, 20), ((1, 1, 4), 25, 30)],
)
def test_the_bowl_grows_until_every_share_can_be_weighed(
    parts: tuple[int, ...], bowl: int, grown: int
) -> None:
    """1 part of 6 at 1:1.5 is 1.3 g of 20 g: two grams of it need 30 g."""
    table = mixing.BowlTable()
    shares = [Decimal(part) for part in parts]

    found = mixing.weighable_bowl(
        shares, bowl_grams=Decimal(bowl), ratio=Decimal("1.5"), table=table
    )

    assert found == grown
    colour = found / Decimal("2.5")
    assert colour * min(shares) / sum(shares) >= table.least_grams


def test_a_mix_that_would_need_far_too_large_a_bowl_is_refused() -> None:
    with pytest.raises(mixing.MixingRefused, match="fewer shades"):
        mixing.weighable_bowl(
            [Decimal(1), Decimal(20)],
            bowl_grams=Decimal(30),
            ratio=Decimal(2),
            table=mixing.BowlTable(),
        )
