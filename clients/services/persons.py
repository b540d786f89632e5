"""Writes about who is who: merging two entries, undoing it, households."""

import datetime as dt
from collections.abc import Mapping

from django.db import transaction
from django.db.models import Q
from django.utils.translation import gettext as _

from clients.diary.changes import MERGE_UNDONE
from clients.models import (
    Appointment,
    AppointmentEvent,
    Client,
    ClientMerge,
    Household,
    NotTheSame,
    PatchTest,
    Status,
)
from clients.models.merge import KEPT_VALUES
from clients.people import person, possible_duplicates, search_index
from clients.policies import check_can_work_at_desk
from clients.services.gatekeeping import gate_of, undo_check_in
from clients.vouching import check_vouched, is_second
from salon import audit
from salon.models import Staff
from salon.policies import is_owner
from salon.refusals import Refused


class MergeRefused(Refused):
    """Raised where two entries cannot be made one, or a merge cannot be undone."""


def needs_second_person(first: Client, second: Client) -> bool:
    """Return whether one person alone may not merge the two.

    Where birth dates differ they may be two people; where either has a patch test, it would
    open the gate for the other.
    """
    ids = [*person.ids_of(first), *person.ids_of(second)]
    tested = PatchTest.objects.filter(client__in=ids).exists()
    return first.birth_date != second.birth_date or tested


@transaction.atomic
def merge_clients(
    *,
    kept: Client,
    merged: Client,
    by: Staff,
    at: dt.datetime,
    values: Mapping[str, object] | None = None,
    witness: Staff | None = None,
    is_same_body: bool = False,
) -> ClientMerge:
    """Make two entries one person. No record is rewritten: the second points at the first.

    What is booked ahead moves over, so that the diary shows the name that is kept. `values`
    are those of the second that stay. Until an owner or two people have confirmed the same
    body (`is_same_body`), tests and answers of the second clear nothing.
    """
    check_can_work_at_desk(kept, merged, by=by)
    rows = {
        row.pk: row
        for row in Client.objects.select_for_update()
        .filter(pk__in=[kept.pk, merged.pk])
        .order_by("pk")
    }
    if len(rows) != 2:
        raise MergeRefused(_("Choose two different clients."), code="same_client")
    first, second = rows[kept.pk], rows[merged.pk]
    if first.merged_into_id or second.merged_into_id:
        raise MergeRefused(_("One of these has already been merged."), code="already_merged")
    if needs_second_person(first, second):
        check_vouched(by=by, witness=witness)
    confirmed = is_same_body and (is_owner(by=by) or is_second(witness, by=by))
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
        witnessed_by=witness,
        confirmed_at=at if confirmed else None,
        confirmed_by=by if confirmed else None,
    )
    if not confirmed:
        before.update(same_body_at=None)
    before.update(merged_into=first)
    ahead.update(client=first)
    Client.objects.filter(pk=second.pk).update(
        merged_into=first, same_body_at=at if confirmed else None
    )
    _take_over(first, values or {})
    if second.last_booked_at and (
        first.last_booked_at is None or second.last_booked_at > first.last_booked_at
    ):
        Client.objects.filter(pk=first.pk).update(last_booked_at=second.last_booked_at)
    possible_duplicates.refresh([first.pk, second.pk])
    audit.record_event(
        "clients merged",
        target=merge,
        by=by,
        at=at,
        confirmed=confirmed,
        fields=sorted(values or {}),
        witness=witness.pk if witness else None,
    )
    return merge


def _take_over(kept: Client, values: Mapping[str, object]) -> None:
    """Write the values of the second entry that stay into the one that is kept."""
    chosen = {name: value for name, value in values.items() if name in KEPT_VALUES}
    if not chosen:
        return
    for name, value in chosen.items():
        setattr(kept, name, value)
    kept.version += 1
    kept.full_clean()
    kept.save()
    search_index.index([kept])


@transaction.atomic
def confirm_same_body(
    *, merge: ClientMerge, by: Staff, at: dt.datetime, witness: Staff | None = None
) -> ClientMerge:
    """Record that two merged entries are the same body: their tests count for each other."""
    check_can_work_at_desk(merge, by=by)
    check_vouched(by=by, witness=witness)
    taken = ClientMerge.objects.filter(
        pk=merge.pk, undone_at__isnull=True, confirmed_at__isnull=True
    ).update(confirmed_at=at, confirmed_by=by, witnessed_by=witness)
    if not taken:
        raise MergeRefused(
            _("This merge has already been confirmed or undone."), code="settled"
        )
    Client.objects.filter(pk=merge.merged_id, merged_into__isnull=False).update(same_body_at=at)
    audit.record_event(
        "merge confirmed", target=merge, by=by, at=at, witness=witness.pk if witness else None
    )
    merge.refresh_from_db()
    return merge


@transaction.atomic
def undo_merge(*, merge: ClientMerge, by: Staff, at: dt.datetime) -> ClientMerge:
    """Make them two again; what moved over goes back, if it is still where it moved.

    A check-in whose gate is shut without the merge is undone too.
    """
    check_can_work_at_desk(merge, by=by)
    taken = ClientMerge.objects.filter(pk=merge.pk, undone_at__isnull=True).update(
        undone_at=at, undone_by=by
    )
    if not taken:
        raise MergeRefused(_("This merge has already been undone."), code="undone")
    if Client.objects.filter(pk=merge.kept_id, merged_into__isnull=False).exists():
        raise MergeRefused(
            _("The entry you kept has itself been merged since. Undo that merge first."),
            code="merged_since",
        )
    Client.objects.filter(pk=merge.merged_id).update(merged_into=None, same_body_at=None)
    Client.objects.filter(pk__in=merge.moved_clients, merged_into=merge.kept_id).update(
        merged_into=merge.merged_id
    )
    Appointment.objects.filter(
        pk__in=merge.moved_appointments,
        client=merge.kept_id,
        status__in=[Status.BOOKED, Status.CHECKED_IN],
    ).update(client=merge.merged_id)
    for inner in ClientMerge.objects.filter(
        merged__in=merge.moved_clients, kept=merge.merged_id, undone_at__isnull=True
    ):
        Client.objects.filter(pk=inner.merged_id).update(same_body_at=inner.confirmed_at)
    possible_duplicates.refresh([merge.kept_id, merge.merged_id])
    _undo_check_ins(merge, by=by, at=at)
    audit.record_event("merge undone", target=merge, by=by, at=at)
    merge.refresh_from_db()
    return merge


def _undo_check_ins(merge: ClientMerge, *, by: Staff, at: dt.datetime) -> None:
    """Undo each check-in that relied on the merge, with a line in its history."""
    here = Appointment.objects.for_show().filter(
        Q(client=merge.kept_id) | Q(client=merge.merged_id),
        status=Status.CHECKED_IN,
        line__isnull=False,
    )
    for appointment in here.select_related("client__salon", "salon"):
        gate = gate_of(appointment, at=at)
        if gate is not None and not gate.is_open:
            undo_check_in(
                appointment=appointment,
                because=MERGE_UNDONE,
                by=by,
                at=at,
            )


def undone_check_ins(*, merge: ClientMerge) -> list[str]:
    """Return who was checked in by a merge that was undone since, by name."""
    if merge.undone_at is None:
        return []
    events = AppointmentEvent.objects.filter(
        appointment__client__in=[merge.kept_id, merge.merged_id],
        recorded_at=merge.undone_at,
        status=Status.BOOKED,
    )
    return sorted(
        {
            event.appointment.client.name
            for event in events.select_related("appointment__client")
        }
    )


@transaction.atomic
def record_not_the_same(
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
        possible_duplicates.refresh([low, high])
        audit.record_event("not the same", target=row, by=by, at=at)
    return row


@transaction.atomic
def join_household(*, client: Client, other: Client, by: Staff, at: dt.datetime) -> Household:
    """Put two clients into one household; two households that meet become one."""
    check_can_work_at_desk(client, other, by=by)
    if client.pk == other.pk:
        raise MergeRefused(_("Choose two different clients."), code="same_client")
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
    possible_duplicates.refresh(other.household.members.values_list("pk", flat=True))
    audit.record_event("household joined", target=client, by=by, at=at, other=other.pk)
    return other.household


@transaction.atomic
def leave_household(*, client: Client, by: Staff, at: dt.datetime) -> None:
    """Take a client out of the household; a household of one is none."""
    check_can_work_at_desk(client, by=by)
    household = client.household_id
    beside = possible_duplicates.partners([client.pk])
    Client.objects.filter(pk=client.pk).update(household=None)
    if household and Client.objects.filter(household=household).count() < 2:
        Client.objects.filter(household=household).update(household=None)
        Household.objects.filter(pk=household).delete()
    possible_duplicates.refresh([client.pk, *beside])
    audit.record_event("household left", target=client, by=by, at=at)
