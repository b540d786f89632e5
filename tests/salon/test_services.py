import datetime as dt
from unittest import mock

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.db import IntegrityError, transaction

from salon import selectors, services
from salon.models import AuditEvent, Policy, Role, Salon, Staff

RULES = {
    "patch_lead_hours": 72,
    "patch_read_hours": 48,
    "patch_valid_months": 3,
    "minimum_age": 18,
    "records_keep_years": 7,
    "photos_keep_years": 2,
    "messages_keep_months": 12,
}


def test_founding_gives_an_owner_and_the_careful_rules(now: dt.datetime, db: None) -> None:
    salon, owner = services.found_salon(
        at=now, owner_username="ada", owner_name="Ada", password="correct horse battery",
        name="Corner House", time_zone="Europe/Dublin",
    )  # fmt: skip

    policy = selectors.policy_in_force(salon=salon)
    assert owner.role == Role.OWNER
    assert owner.check_password("correct horse battery")
    assert (policy.patch_lead_hours, policy.patch_valid_months, policy.minimum_age) == (
        48,
        6,
        16,
    )


def test_a_salon_needs_a_time_zone_that_exists(now: dt.datetime, db: None) -> None:
    with pytest.raises(ValidationError, match="time zone"):
        services.found_salon(
            at=now, owner_username="ada", owner_name="Ada", password="x" * 12,
            name="Corner House", time_zone="Mars/Olympus",
        )  # fmt: skip


def test_a_new_policy_leaves_the_earlier_ones(owner: Staff, now: dt.datetime) -> None:
    services.revise_policy(by=owner, at=now, **RULES)
    services.revise_policy(by=owner, at=now, **{**RULES, "minimum_age": 16})

    assert [p.minimum_age for p in selectors.policy_history(salon=owner.salon)] == [16, 18]


def test_only_an_owner_revises_the_policy(stylist: Staff, now: dt.datetime) -> None:
    with pytest.raises(PermissionDenied):
        services.revise_policy(by=stylist, at=now, **RULES)


def test_the_last_owner_stays(owner: Staff, now: dt.datetime) -> None:
    with pytest.raises(services.LastOwner):
        services.change_member(member=owner, by=owner, at=now, is_active=False)

    owner.refresh_from_db()
    assert owner.is_active


def test_a_failed_audit_write_rolls_the_change_back(owner: Staff, now: dt.datetime) -> None:
    with (
        mock.patch("salon.services.audit.record_event", side_effect=RuntimeError),
        pytest.raises(RuntimeError),
    ):
        services.revise_policy(by=owner, at=now, **RULES)

    assert not Policy.objects.exists()
    assert not AuditEvent.objects.exists()


def test_database_refuses_a_careless_policy(salon: Salon, now: dt.datetime) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        Policy.objects.create(salon=salon, number=1, recorded_at=now, minimum_age=12)


def test_database_refuses_a_salon_that_closes_before_it_opens(db: None) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        Salon.objects.create(name="Night", opens_at=dt.time(20), closes_at=dt.time(8))


def test_database_refuses_an_unknown_role(salon: Salon) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        Staff.objects.create(salon=salon, username="x", display_name="X", role="king")
