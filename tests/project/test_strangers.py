"""Every service of every app, called by people of another salon and by each wrong role.

A new service needs its row in `service_table`, on purpose.
"""

import datetime as dt
import importlib
import inspect
import pkgutil
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.core.exceptions import PermissionDenied
from django.db import transaction

import clients.services
import consult.services
import formulas.services
import salon.files.services
import salon.linked_salons.services
import salon.passkeys.services
import salon.reset_by_mail.services
import salon.second_factor.services
import salon.services
import salon.tablet.services
from salon.models import AuditEvent, Role, Salon, Staff
from tests.factories.salon import StaffFactory
from tests.project.service_rules import NO_ACTOR
from tests.project.service_table import TABLE
from tests.project.service_world import World

PLACES = (
    clients.services,
    consult.services,
    formulas.services,
    salon.files.services,
    salon.linked_salons.services,
    salon.passkeys.services,
    salon.reset_by_mail.services,
    salon.second_factor.services,
    salon.services,
    salon.tablet.services,
)


def _modules() -> Iterator[Any]:
    for place in PLACES:
        yield place
        for found in pkgutil.iter_modules(getattr(place, "__path__", [])):
            yield importlib.import_module(f"{place.__name__}.{found.name}")


def _services() -> dict[str, Callable[..., Any]]:
    """Return every public function that the modules of services define, by app and name."""
    found: dict[str, Callable[..., Any]] = {}
    for module in _modules():
        for name, thing in vars(module).items():
            here = getattr(thing, "__module__", "") == module.__name__
            if inspect.isfunction(thing) and here and not name.startswith("_"):
                found[f"{module.__name__.split('.')[0]}.{name}"] = thing
    return found


SERVICES = _services()
WITH_ACTOR = sorted(n for n, f in SERVICES.items() if "by" in inspect.signature(f).parameters)


@pytest.fixture
def world(salon: Salon, stylist: Staff, owner: Staff, now: dt.datetime) -> World:
    return World(salon=salon, stylist=stylist, owner=owner, at=now)


def _call(name: str, world: World, by: Staff) -> None:
    """Call a service with its row's arguments; what it changes is undone afterwards."""
    service, arguments = SERVICES[name], TABLE[name].arguments(world)
    if "at" in inspect.signature(service).parameters:
        arguments.setdefault("at", world.at)
    with transaction.atomic():
        service(by=by, **arguments)


def test_the_table_names_every_service_and_no_other() -> None:
    assert set(TABLE) == set(WITH_ACTOR)
    assert set(NO_ACTOR) == set(SERVICES) - set(WITH_ACTOR)


@pytest.mark.parametrize("name", [n for n in WITH_ACTOR if n in TABLE and TABLE[n].has_record])
def test_nobody_of_another_salon_gets_through(
    name: str, world: World, other_salon: Salon
) -> None:
    for role in Role.values:
        stranger = StaffFactory(salon=other_salon, role=role)
        with pytest.raises(PermissionDenied):
            _call(name, world, stranger)
        assert not AuditEvent.objects.filter(actor_id=stranger.pk).exists()


@pytest.mark.parametrize("name", sorted(TABLE))
def test_a_wrong_role_does_not_get_through(name: str, world: World) -> None:
    for role in set(Role.values) - {str(one) for one in TABLE[name].roles}:
        with pytest.raises(PermissionDenied):
            _call(name, world, StaffFactory(salon=world.salon, role=role))


def _is_denied(name: str, world: World, member: Staff) -> bool:
    try:
        _call(name, world, member)
    except PermissionDenied:
        return True
    except Exception:  # a refusal of another kind
        return False
    return False


@pytest.mark.parametrize("name", sorted(TABLE))
def test_a_right_role_gets_past_the_policy(name: str, world: World) -> None:
    """What else is wrong with the row's arguments may be refused, but not who asks."""
    for role in TABLE[name].roles:
        member = StaffFactory(salon=world.salon, role=role, has_column=True)
        assert not _is_denied(name, world, member), f"{name} refuses a {role}"


def test_a_record_is_filed_under_its_own_salon(world: World, other_salon: Salon) -> None:
    from salon import audit

    event = audit.record_event("day closed", target=world.client, by=None, at=world.at)
    assert event.salon == world.salon

    with pytest.raises(PermissionDenied):
        audit.record_event(
            "day closed",
            target=world.client,
            by=StaffFactory(salon=other_salon),
            at=world.at,
        )
