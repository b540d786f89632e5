"""Every table carries its salon or leads to it by what its rows belong to.

What divides one database into many by salon (decision 0077) needs that of each of them.
"""

from collections.abc import Iterator

from django.apps import apps
from django.db import models

from consult.portability.salon_rows import all_models
from salon.models import Salon, Staff

Model = type[models.Model]
# Of the installation as a whole, or beside a session of Django's.
OF_NO_SALON = {
    "salon.KeySeen",
    "salon.WorkerLease",
    "salon.TimetableEntry",
    "salon.StaffSession",
}
# Of one table or of another; a constraint of the database asks for one of them.
OF_EITHER = {"clients.SlotClaim": ("appointment", "absence")}
LONGEST = 4


def _owners(model: Model) -> Iterator[Model]:
    """Yield the tables that a row cannot be without."""
    either = OF_EITHER.get(model._meta.label, ())
    for f in model._meta.concrete_fields:
        if isinstance(f, models.ForeignKey) and (not f.null or f.name in either):
            related = f.related_model
            assert isinstance(related, type)
            yield related


def _steps(by_person: bool) -> dict[Model, int]:
    """Return over how many tables each leads to its salon; who wrote it is no owner."""
    found: dict[Model, int] = {Salon: 0}
    for steps in range(1, len(all_models())):
        near = {
            model
            for model in all_models()
            if model not in found
            and any(
                owner in found and (by_person or owner is not Staff) for owner in _owners(model)
            )
        }
        if not near:
            break
        found.update(dict.fromkeys(near, steps))
    return found


def test_every_table_carries_its_salon_or_leads_to_it() -> None:
    by_thing, by_person = _steps(False), _steps(True)
    lost = [m._meta.label for m in all_models() if m not in by_person]
    assert set(lost) == OF_NO_SALON
    assert max(by_thing.values()) <= LONGEST
    # What is left belongs to one person of the team, and to nothing else.
    of_a_person = {m for m in by_person if m not in by_thing}
    for model in of_a_person:
        things = [owner for owner in _owners(model) if owner is not Staff]
        assert all(owner not in by_thing for owner in things), model._meta.label
    assert {m._meta.app_label for m in of_a_person} <= {"salon", "clients"}


def test_what_others_bring_holds_nothing_of_a_salon() -> None:
    theirs = [m for m in apps.get_models() if m not in all_models()]
    for model in theirs:
        for f in model._meta.concrete_fields:
            if isinstance(f, models.ForeignKey):
                assert f.related_model not in all_models(), f
