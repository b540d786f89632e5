"""Check-in and the owner's override: the hard stop in front of every colour service."""

import datetime as dt

from django.db import transaction
from django.db.models import F
from django.utils.translation import gettext as _

from clients.models import Appointment, PatchOverride, Status
from clients.models.diary import SLOT_MINUTES
from clients.policies import check_can_work_at_desk, check_may_override
from clients.services.diary import record_change
from clients.skin_test.gate import Gate, colour_gate
from salon import audit
from salon.models import Staff
from salon.refusals import Refused


class CheckInRefused(Refused):
    """Raised with the shut gate that explains why."""

    def __init__(
        self, sentence: str, gate: Gate | None = None, *, code: str = "", **values: object
    ) -> None:
        super().__init__(sentence, code=code, **values)
        self.gate = gate


class OverrideRefused(Refused):
    """Raised where not even an owner may open the gate."""


def gate_of(appointment: Appointment, *, at: dt.datetime) -> Gate | None:
    """Return the gate of an appointment; None where no colour is booked."""
    if appointment.line is None:
        return None
    return colour_gate(
        client=appointment.client, line=appointment.line, at=at, appointment=appointment
    )


@transaction.atomic
def check_in(*, appointment: Appointment, by: Staff, at: dt.datetime) -> Appointment:
    """Check a client in, unless the gate is shut."""
    check_can_work_at_desk(appointment, by=by)
    zone = appointment.salon.zone
    if appointment.starts_at.astimezone(zone).date() != at.astimezone(zone).date():
        raise CheckInRefused(
            _("This appointment is on another day. Move it to today first."), code="another_day"
        )
    gate = gate_of(appointment, at=at)
    if gate is not None and not gate.is_open:
        raise CheckInRefused(
            " ".join(reason.text for reason in gate.reasons), gate, code="gate"
        )
    return _advance(appointment, Status.BOOKED, Status.CHECKED_IN, by=by, at=at)


@transaction.atomic
def undo_check_in(
    *,
    appointment: Appointment,
    by: Staff,
    at: dt.datetime,
    reason: str = "",
    because: str = "",
) -> Appointment:
    """Take back a check-in that was a mistake, with its reason.

    `because` is a code of `clients.diary.changes`, where the product itself undoes it.
    """
    check_can_work_at_desk(appointment, by=by)
    return _advance(
        appointment,
        Status.CHECKED_IN,
        Status.BOOKED,
        by=by,
        at=at,
        reason=reason,
        changes=[[because, "", ""]] if because else None,
    )


@transaction.atomic
def start_service(*, appointment: Appointment, by: Staff, at: dt.datetime) -> Appointment:
    """Record that the stylist has begun; a check-in of another day is undone instead."""
    check_can_work_at_desk(appointment, by=by)
    zone = appointment.salon.zone
    if appointment.starts_at.astimezone(zone).date() != at.astimezone(zone).date():
        raise CheckInRefused(
            _("This appointment is on another day. Undo its check-in."), code="another_day_undo"
        )
    return _advance(appointment, Status.CHECKED_IN, Status.IN_SERVICE, by=by, at=at)


@transaction.atomic
def finish_service(*, appointment: Appointment, by: Staff, at: dt.datetime) -> Appointment:
    """Record that the client is done; what is left of the time is free again."""
    check_can_work_at_desk(appointment, by=by)
    done = _advance(appointment, Status.IN_SERVICE, Status.DONE, by=by, at=at)
    _give_back_the_rest(done, at)
    return done


def _give_back_the_rest(done: Appointment, at: dt.datetime) -> None:
    """End the appointment on the next full five minutes, where it was booked for longer."""
    step = dt.timedelta(minutes=SLOT_MINUTES)
    least = done.starts_at + step
    over = max(dt.timedelta(0), at - least)
    ends_at = least + step * -(-over // step)
    if not done.starts_at <= at < done.ends_at or ends_at >= done.ends_at:
        return
    parts = {"processing_from": done.processing_from, "processing_until": done.processing_until}
    if done.processing_from and done.processing_from >= ends_at:
        parts = {"processing_from": None, "processing_until": None}
    elif done.processing_until and done.processing_until > ends_at:
        parts["processing_until"] = ends_at
    Appointment.objects.filter(pk=done.pk).update(ends_at=ends_at, **parts)
    done.claims.filter(slot_at__gte=ends_at).delete()
    done.refresh_from_db()


@transaction.atomic
def record_override(
    *, appointment: Appointment, reason: str, by: Staff, at: dt.datetime
) -> PatchOverride:
    """Open the gate of one appointment in writing; only an owner, and never for a reaction."""
    check_may_override(appointment, by=by)
    gate = gate_of(appointment, at=at)
    if gate is None or not gate.may_be_overridden:
        raise OverrideRefused(
            _(
                "Nobody can override this: a reaction, the client's age or an answer "
                "rules out colour."
            )
            if gate and gate.reasons
            else _("Colour is already allowed: no override is needed.")
        )
    override = PatchOverride(
        appointment=appointment, reason=reason.strip(), recorded_at=at, recorded_by=by
    )
    override.full_clean()
    override.save()
    audit.record_event("patch test overridden", target=appointment, by=by, at=at)
    return override


def _advance(
    appointment: Appointment,
    expected: str,
    to: str,
    *,
    by: Staff,
    at: dt.datetime,
    reason: str = "",
    changes: list[list[str]] | None = None,
) -> Appointment:
    taken = Appointment.objects.filter(pk=appointment.pk, status=expected).update(
        status=to, version=F("version") + 1
    )
    appointment.refresh_from_db()
    if not taken:
        raise CheckInRefused(
            _("This appointment is already %(status)s."),
            code="status",
            status=appointment.get_status_display(),
        )
    record_change(appointment, by=by, at=at, reason=reason, changes=changes)
    audit.record_event(f"appointment {to}", target=appointment, by=by, at=at)
    return appointment
