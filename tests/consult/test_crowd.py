"""A salon filled for measuring: every row holds, whole or thin."""

import datetime as dt

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.utils import timezone

from clients.models import Appointment, Client
from consult.agreement.verification import fault_in
from consult.demo import crowd
from consult.history import kept_figures
from consult.models import SignOff, Visit, VisitFigures
from formulas.models import StockMovement
from formulas.selectors import wrong_balances
from salon.models import AuditEvent, Salon, Staff
from tests.typed import SignIn, present

pytestmark = [pytest.mark.slow, pytest.mark.django_db]


def test_a_filled_salon_is_one_that_could_have_been_worked_in(client_for: SignIn) -> None:
    size = crowd.Size(clients=24, visits=155, stylists=1, whole=20, repeated=40)
    assert size.rounds == 4
    salon = crowd.fill(size, now=timezone.now())

    assert fault_in(salon) is None
    assert wrong_balances() == []
    closed = Visit.objects.filter(salon=salon, status="closed")
    # The told ones come first, each with its own signature.
    assert closed.count() == 155 + 3
    assert SignOff.objects.filter(visit__in=closed).count() >= 20 + 3
    assert Client.objects.filter(salon=salon, visits__isnull=False).distinct().count() >= 24
    starts = Appointment.objects.filter(salon=salon).values_list("stylist", "starts_at")
    assert len(set(starts)) == len(starts)
    assert not StockMovement.objects.filter(recorded_at__gt=timezone.now()).exists()
    of_visits = AuditEvent.objects.filter(kind="visit closed")
    assert {int(row) for row in of_visits.values_list("target_id", flat=True)} == set(
        closed.values_list("pk", flat=True)
    )
    connection.check_constraints()
    call_command("visit_figures", "--check")
    for pks in kept_figures.kept(salon):
        known = VisitFigures.objects.in_bulk(pks, field_name="visit_id")
        for row in kept_figures.worked_out(pks, salon=salon):
            for name in kept_figures.OF_THAT_DAY:
                assert getattr(known[row.visit_id], name) == getattr(row, name), name
    latest = closed.latest("opened_at")
    assert latest.sign_offs.count() == 1
    assert timezone.now() - present(latest.closed_at) < dt.timedelta(days=14)
    owner = client_for(Staff.objects.get(role="owner"))
    thin = present(closed.filter(sign_offs__isnull=True).first())
    for visit in (latest, thin):
        for address in (f"/visits/{visit.pk}/", f"/clients/{visit.client_id}/tones/"):
            assert owner.get(address, follow=True).status_code == 200, address


def test_it_fills_an_empty_database_only(salon: Salon) -> None:
    with pytest.raises(CommandError, match="empty database"):
        call_command("fill_salon", clients=1, visits=1)
