"""Reads of the ground floor."""

from django.db.models import QuerySet

from salon.models import AuditEvent, Policy, Salon, Staff


def policy_in_force(*, salon: Salon) -> Policy:
    """Return the salon's latest policy; the careful defaults where none was recorded."""
    return Policy.objects.filter(salon=salon).first() or Policy(salon=salon, number=0)


def policy_history(*, salon: Salon) -> QuerySet[Policy]:
    """Return every policy of the salon, latest first."""
    return Policy.objects.filter(salon=salon).select_related("recorded_by")


def team(*, salon: Salon) -> QuerySet[Staff]:
    """Return everyone of the salon, also those who may no longer sign in."""
    return Staff.objects.in_salon(salon)


def columns(*, salon: Salon) -> QuerySet[Staff]:
    """Return those who take clients, in the diary's order."""
    return Staff.objects.with_column(salon)


def record_of_changes(*, salon: Salon) -> QuerySet[AuditEvent]:
    """Return the salon's audit events, latest first."""
    return AuditEvent.objects.filter(salon=salon)
