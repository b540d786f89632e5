"""An owner takes another person's PIN away."""

import datetime as dt
from collections.abc import Callable

import pytest
from django.core.exceptions import PermissionDenied
from django.test import Client as Browser

from salon.models import AuditEvent, Role, Salon, Staff, StaffPin
from salon.tablet import services
from tests.factories.salon import StaffFactory
from tests.salon.tablet.conftest import switch, whose


def test_an_owner_removes_somebody_elses_pin_and_nobody_else_does(
    team: dict[str, Staff],
    sign_in: Callable[..., Browser],
    other_salon: Salon,
    now: dt.datetime,
) -> None:
    person = team[Role.STYLIST]
    page, address = f"/salon/team/{person.pk}/", f"/salon/team/{person.pk}/pin/remove/"
    for role in (Role.RECEPTIONIST, Role.STYLIST):
        assert sign_in(team[role]).post(address).status_code == 403
        with pytest.raises(PermissionDenied):
            services.remove_pin_of(member=person, by=team[role], at=now)
    stranger = StaffFactory(salon=other_salon, role=Role.OWNER, has_column=False)
    with pytest.raises(PermissionDenied):
        services.remove_pin_of(member=person, by=stranger, at=now)
    owner = sign_in(team[Role.OWNER])
    assert owner.get(address).status_code == 405
    assert f'action="{address}"' in owner.get(page).text
    assert StaffPin.objects.filter(staff=person).exists()

    after = owner.post(address, follow=True).text

    assert "The PIN is removed." in after
    assert address not in after
    assert not StaffPin.objects.filter(staff=person).exists()
    event = AuditEvent.objects.get(kind="PIN removed")
    assert (event.actor_id, event.target_id) == (team[Role.OWNER].pk, str(person.pk))
    owner.post(address)
    assert AuditEvent.objects.filter(kind="PIN removed").count() == 1


def test_by_pin_an_owner_removes_nobodys_pin(tablet: Browser, team: dict[str, Staff]) -> None:
    """As to the rest of managing people: the password is asked for."""
    switch(tablet, team[Role.OWNER])

    tablet.post(f"/salon/team/{team[Role.STYLIST].pk}/pin/remove/")

    assert StaffPin.objects.filter(staff=team[Role.STYLIST]).exists()


def test_a_removed_pin_takes_over_no_tablet(
    tablet: Browser, team: dict[str, Staff], now: dt.datetime
) -> None:
    person = team[Role.RECEPTIONIST]
    services.remove_pin_of(member=person, by=team[Role.OWNER], at=now)

    assert switch(tablet, person).status_code == 422
    assert whose(tablet) == team[Role.STYLIST].pk
