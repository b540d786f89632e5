"""The skin reacts while colour is on: one press ends every clock, and blocks the line."""

import datetime as dt
from collections.abc import Sequence

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from clients import services as desk
from clients.models import AlertCode, AlertKind, ClientAlert, Sign
from consult import policies
from consult.models import (
    MarkKind,
    ProcessingMark,
    Reaction,
    ReactionKind,
    RinseUndone,
    Visit,
)
from consult.services.steps import OutOfOrder, advance
from consult.visit.loading import facts_of
from consult.visit.path import Act
from salon.models import Staff
from salon.refusals import Refused


class ReactionRefused(Refused):
    """Raised when what was seen is not described, or there is no reaction to describe."""


@transaction.atomic
def report_reaction(*, visit: Visit, by: Staff, at: dt.datetime) -> Reaction:
    """End every clock of the visit and block its line for this client, at once.

    Nothing is asked first, and no form can be too old for it. A second press is the first.
    """
    locked = Visit.objects.select_for_update()  # it waits for others instead of failing
    visit.refresh_from_db(fields=["status", "version"], from_queryset=locked)
    policies.check_can_work_on(by=by, visit=visit)
    facts = facts_of(visit, at=at)
    if facts.reaction:
        return facts.reaction
    if not facts.may(Act.REACT):
        raise OutOfOrder(facts.why_not(Act.REACT), code=Act.REACT)
    advance(visit, kind="colour reacted", by=by, at=at, bowls=len(facts.running))
    for bowl in facts.running:
        started = bowl.started_at or at
        ProcessingMark.objects.create(
            bowl=bowl.bowl,
            kind=MarkKind.END,
            number=RinseUndone.objects.filter(mark__bowl=bowl.bowl).count() + 1,
            marked_at=max(at, started),
            started_at=started,
            marked_by=by,
        )
    return Reaction.objects.create(
        visit=visit,
        kind=ReactionKind.PRESSED,
        alert=_raise(visit, by=by, at=at),
        recorded_at=at,
        recorded_by=by,
    )


@transaction.atomic
def describe_reaction(
    *,
    visit: Visit,
    signs: Sequence[str],
    by: Staff,
    at: dt.datetime,
    note: str = "",
    expected_version: int | None = None,
) -> Reaction:
    """Record what was seen, on the alert too; a second description is a further row."""
    policies.check_can_work_on(by=by, visit=visit)
    last = _last(visit, at)
    if not signs or not set(signs) <= set(Sign.values):
        raise ReactionRefused(_("Enter what you saw."), code="no_description")
    advance(
        visit,
        kind="reaction described",
        by=by,
        at=at,
        expected_version=expected_version,
    )
    alert = _raise(visit, signs, note.strip(), by=by, at=at, instead_of=last.alert)
    row = Reaction(
        visit=visit,
        kind=ReactionKind.SEEN,
        signs=",".join(signs),
        note=note.strip(),
        alert=alert,
        recorded_at=at,
        recorded_by=by,
    )
    row.full_clean()
    row.save()
    return row


@transaction.atomic
def take_back_reaction(
    *, visit: Visit, by: Staff, at: dt.datetime, expected_version: int | None = None
) -> Reaction:
    """Record that it was pressed by mistake; only before anything was described.

    The press stays on record, and so do the clocks as it ended them.
    """
    policies.check_can_work_on(by=by, visit=visit)
    last = _last(visit, at)
    if last.kind != ReactionKind.PRESSED:
        raise ReactionRefused(_("A reaction with a description stays on record."), code="stays")
    advance(
        visit,
        kind="reaction pressed by mistake",
        by=by,
        at=at,
        expected_version=expected_version,
    )
    desk.remove_alert(alert=last.alert, code=AlertCode.MISTAKE, by=by, at=at, is_mistake=True)
    return Reaction.objects.create(
        visit=visit,
        kind=ReactionKind.MISTAKE,
        alert=last.alert,
        recorded_at=at,
        recorded_by=by,
    )


def _last(visit: Visit, at: dt.datetime) -> Reaction:
    reaction = facts_of(visit, at=at).reaction
    if reaction is None:
        raise ReactionRefused(_("This visit has no reaction on record."), code="none")
    return reaction


def _raise(
    visit: Visit,
    signs: Sequence[str] = (),
    note: str = "",
    *,
    by: Staff,
    at: dt.datetime,
    instead_of: ClientAlert | None = None,
) -> ClientAlert:
    """Put up the alert that blocks the line; the one without words makes room for it."""
    alert = desk.raise_alert(
        client=visit.client,
        kind=AlertKind.REACTION,
        code=AlertCode.COLOUR_REACTION,
        details={
            "line": visit.line.name,
            "on": timezone.localtime(at).date().isoformat(),
            "signs": list(signs),
            "note": note,
        },
        line=visit.line,
        by=by,
        at=at,
    )
    if instead_of is not None:
        desk.remove_alert(
            alert=instead_of, code=AlertCode.DESCRIBED, by=by, at=at, is_mistake=True
        )
    return alert
