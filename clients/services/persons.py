"""Writes about who is who: merging two entries, undoing it, households."""

import datetime as dt

from django.db import transaction
from django.utils.translation import gettext as _

from clients.models import Appointment, Client, ClientMerge, Household, NotTheSame, Status
from clients.policies import check_can_work_at_desk
from salon import audit
from salon.models import Staff


class MergeRefused(Exception):
    """Raised where two entries cannot be made one, or a merge cannot be undone."""


@transaction.atomic
def merge_clients(*, kept: Client, merged: Client, by: Staff, at: dt.datetime) -> ClientMerge:
    """Make two entries one person. No record is rewritten: the second points at the first.

    What is booked ahead moves over, so that the diary shows the name that stands.
    """
    check_can_work_at_desk(kept, merged, by=by)
    rows = {
        row.pk: row
        for row in Client.objects.select_for_update()
        .filter(pk__in=[kept.pk, merged.pk])
        .order_by("pk")
    }
    if len(rows) != 2:
        raise MergeRefused(_("Choose two different entries."))
    first, second = rows[kept.pk], rows[merged.pk]
    if first.merged_into_id or second.merged_into_id:
        raise MergeRefused(_("One of these has been merged already."))
    before = Client.objects.filter(merged_into=second)
    ahead = Appointment.objects.filter(client=second, status=Status.BOOKED, starts_at__gte=at)
    merge = ClientMerge.objects.create(
        salon=by.salon,
        kept=first,
        merged=second,
        moved_clients=list(before.values_list("pk", flat=True)),
        moved_appointments=list(ahead.values_list("pk", flat=True)),
        merged_at=at,
        merged_by=by,
    )
    before.update(merged_into=first)
    ahead.update(client=first)
    Client.objects.filter(pk=second.pk).update(merged_into=first)
    if second.last_booked_at and (
        first.last_booked_at is None or second.last_booked_at > first.last_booked_at
    ):
        Client.objects.filter(pk=first.pk).update(last_booked_at=second.last_booked_at)
    audit.record_event("clients merged", target=merge, by=by, at=at)
    return merge


@transaction.atomic
def undo_merge(*, merge: ClientMerge, by: Staff, at: dt.datetime) -> ClientMerge:
    """Make them two again; what moved over goes back, if it still stands where it moved."""
    check_can_work_at_desk(merge, by=by)
    taken = ClientMerge.objects.filter(pk=merge.pk, undone_at__isnull=True).update(
        undone_at=at, undone_by=by
    )
    if not taken:
        raise MergeRefused(_("This merge has been undone already."))
    if Client.objects.filter(pk=merge.kept_id, merged_into__isnull=False).exists():
        raise MergeRefused(_("The entry that was kept has been merged since: undo that first."))
    Client.objects.filter(pk=merge.merged_id).update(merged_into=None)
    Client.objects.filter(pk__in=merge.moved_clients, merged_into=merge.kept_id).update(
        merged_into=merge.merged_id
    )
    Appointment.objects.filter(
        pk__in=merge.moved_appointments, client=merge.kept_id, status=Status.BOOKED
    ).update(client=merge.merged_id)
    audit.record_event("merge undone", target=merge, by=by, at=at)
    merge.refresh_from_db()
    return merge


@transaction.atomic
def say_not_the_same(
    *, first: Client, second: Client, by: Staff, at: dt.datetime
) -> NotTheSame:
    """Record that two entries are two people; they are not asked about again."""
    check_can_work_at_desk(first, second, by=by)
    low, high = sorted((first.pk, second.pk))
    row, added = NotTheSame.objects.get_or_create(
        first_id=low,
        second_id=high,
        defaults={"salon": by.salon, "said_at": at, "said_by": by},
    )
    if added:
        audit.record_event("not the same", target=row, by=by, at=at)
    return row


@transaction.atomic
def join_household(*, client: Client, other: Client, by: Staff, at: dt.datetime) -> Household:
    """Put two clients into one household; two households that meet become one."""
    check_can_work_at_desk(client, other, by=by)
    if client.pk == other.pk:
        raise MergeRefused(_("Choose two different entries."))
    if other.household is None:
        other.household = client.household or Household.objects.create(
            salon=by.salon, formed_at=at
        )
        Client.objects.filter(pk=other.pk).update(household=other.household)
    old = client.household_id
    Client.objects.filter(pk=client.pk).update(household=other.household)
    if old and old != other.household.pk:
        Client.objects.filter(household=old).update(household=other.household)
        Household.objects.filter(pk=old).delete()
    audit.record_event("household joined", target=client, by=by, at=at, other=other.pk)
    return other.household


@transaction.atomic
def leave_household(*, client: Client, by: Staff, at: dt.datetime) -> None:
    """Take a client out of the household; a household of one is none."""
    check_can_work_at_desk(client, by=by)
    household = client.household_id
    Client.objects.filter(pk=client.pk).update(household=None)
    if household and Client.objects.filter(household=household).count() < 2:
        Client.objects.filter(household=household).update(household=None)
        Household.objects.filter(pk=household).delete()
    audit.record_event("household left", target=client, by=by, at=at)
