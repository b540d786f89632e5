"""The demo salon, with fewer regulars and months than the real one has."""

import datetime as dt
import io
import json
from dataclasses import replace
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.db import transaction
from pytest_django import Settings

from clients.models import Appointment, Client, PatchTest, Status
from clients.skin_test.state import Code, patch_state
from consult.agreement.verification import fault_in
from consult.demo import cast, visit_stories
from consult.demo.fill import fill
from consult.models import FormulaLine, ResultSeen, SignOff, Visit
from formulas.selectors import wrong_balances
from salon.models import AuditEvent, Salon
from tests.typed import present

NIGHT = dt.datetime(2026, 3, 29, 23, 40, tzinfo=dt.UTC)  # a Sunday, the day clocks change
NOON = dt.datetime(2026, 11, 25, 12, 0, tzinfo=dt.UTC)

pytestmark = [pytest.mark.slow, pytest.mark.django_db]


@pytest.fixture(autouse=True)
def short(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(visit_stories, "REGULARS", cast.REGULARS[:2])
    monkeypatch.setattr(visit_stories, "_MONTHS_BACK", 4)


def _told() -> list[tuple[object, ...]]:
    return list(
        FormulaLine.objects.order_by(
            "formula__decided_at", "formula__zones", "shade__name"
        ).values_list("formula__decided_at", "shade__name", "parts", "grams")
    )


def test_patch_tests_stand_in_every_state_and_the_chain_holds() -> None:
    salon = fill(now=NOON)

    line = salon.lines.get(name="Tidepool")
    codes = {
        patch_state(client=client, line=line, at=NOON).code
        for client in Client.objects.filter(salon=salon)
    }
    assert codes == set(Code)
    assert SignOff.objects.filter(salon=salon, version=2).count() >= 3
    assert fault_in(salon) is None
    assert wrong_balances() == []


def test_copied_visits_have_rows_and_results_of_their_own(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    guest = next(one for one in cast.REGULARS if one.lifted == 9.5)  # comes to be lightened
    alike = replace(cast.REGULARS[0], **_hair(guest))
    monkeypatch.setattr(visit_stories, "REGULARS", (guest, alike))
    monkeypatch.setattr(visit_stories, "_MONTHS_BACK", 8)
    salon = fill(now=NOON)

    hers = SignOff.objects.filter(visit__client__name=alike.name)
    assert {row.signed_name for row in hers} == {alike.name}, "copied from another's story"
    visits = Visit.objects.filter(salon=salon, client__name=guest.name)
    visits = visits.filter(status="closed")
    assert len(visits) >= 3
    assert len({tuple(_kinds(visit)) for visit in visits}) == 2  # with and without lightening
    for visit in visits:
        closed_at = present(visit.closed_at)
        (signed,) = visit.sign_offs.all()
        assert json.loads(signed.snapshot)["visit"] == visit.pk
        assert visit.opened_at < signed.signed_at < closed_at
        mixed = AuditEvent.objects.filter(kind="bowl mixed", target_id=str(visit.pk))
        formulas = [event.detail["formula"] for event in mixed]
        assert sorted(formulas) == sorted(visit.formulas.values_list("pk", flat=True))
        assert all(visit.opened_at < event.at < closed_at for event in mixed)
    seen = ResultSeen.objects.filter(visit__in=visits).values_list("warmth_left_percent")
    assert len(set(seen)) > 1


def _hair(guest: cast.Guest) -> dict[str, Any]:
    """Return what one guest shares with another whose visits are copies of hers."""
    names = (
        "natural", "lifted", "undertone", "white", "porosity", "keeps", "line", "speaks",
        "dark_as",
    )  # fmt: skip
    return {name: getattr(guest, name) for name in names}


def _kinds(visit: Visit) -> list[str]:
    return list(visit.events.order_by("version").values_list("kind", flat=True))


@pytest.mark.parametrize("now", [NOON, NIGHT])
def test_todays_diary_is_half_full_whatever_the_moment(now: dt.datetime) -> None:
    salon = fill(now=now)

    day = now.astimezone(salon.zone).date()
    today = [
        one
        for one in Appointment.objects.filter(salon=salon)
        if one.starts_at.astimezone(salon.zone).date() == day
    ]
    assert len(today) == 10
    assert len({one.stylist_id for one in today}) == 3
    assert any(one.status == Status.CHECKED_IN for one in today)


def test_the_same_seed_and_moment_tell_the_same_stories() -> None:
    told = []
    for _ in range(2):
        with transaction.atomic():
            fill(now=NOON, seed=11)
            told.append(_told())
            transaction.set_rollback(True)

    assert told[0] == told[1]
    assert told[0]


def test_run_twice_it_doubles_nothing() -> None:
    first, second = io.StringIO(), io.StringIO()
    call_command("demo", reference=NOON.isoformat(), stdout=first)
    before = (Client.objects.count(), Visit.objects.count(), PatchTest.objects.count())

    call_command("demo", reference=NOON.isoformat(), stdout=second)

    assert (Client.objects.count(), Visit.objects.count(), PatchTest.objects.count()) == before
    assert Salon.objects.count() == 1
    assert len(cast.REGULARS) + len(cast.OTHERS) == before[0] == 40
    for login in ("imke", "tomasz", "brigid"):
        assert login in second.getvalue()


def test_public_passwords_stay_out_of_production(settings: Settings) -> None:
    settings.LOCAL = False

    with pytest.raises(CommandError, match="SALON_MODE=local"):
        call_command("demo")
