"""How every write of a visit moves it on: one version, one event, one audit event."""

import datetime as dt
from collections.abc import Sequence
from typing import Any

from django.db.models import F
from django.utils.translation import gettext as _

from consult import selectors, states
from consult.models import ENDED, Draft, Status, Visit, VisitEvent
from consult.refusals import Refused
from salon import audit
from salon.models import Staff


class StaleVisit(Exception):
    """Raised when someone else changed the visit since the form was opened."""

    def __init__(self, changes: Sequence[VisitEvent] = ()) -> None:
        super().__init__(_("Someone else worked on this visit meanwhile."))
        self.changes = list(changes)


class OutOfOrder(Refused):
    """Raised when a step is taken before the ones that it stands on."""


def check_reached(visit: Visit, step: Status) -> None:
    """Refuse a step whose turn has not come."""
    if not states.has_reached(visit.status, step):
        raise OutOfOrder(
            _("Another step comes first: %(due)s.") % {"due": visit.get_status_display()}
        )


def check_read_since_lightening(visit: Visit) -> None:
    """Refuse what stands on a reading of hair that was lightened after it."""
    if selectors.needs_new_reading(visit, selectors.facts_in_force(visit)):
        raise OutOfOrder(_("The hair was lightened after it was read. Read it again first."))


def advance(
    visit: Visit,
    *,
    to: Status | str,
    kind: str,
    by: Staff,
    at: dt.datetime,
    expected_version: int | None = None,
    fields: dict[str, Any] | None = None,
    **detail: Any,
) -> Visit:
    """Move the visit to a step and raise its version, or refuse a stale form.

    Without `expected_version` the caller takes the visit as it now stands.
    """
    if not states.may_move(visit.status, to):
        raise OutOfOrder(
            _("A visit cannot go from “%(here)s” to “%(there)s”.")
            % {"here": visit.get_status_display(), "there": Status(to).label}
        )
    known = visit.version if expected_version is None else expected_version
    taken = Visit.objects.filter(pk=visit.pk, version=known, status=visit.status).update(
        status=to, version=F("version") + 1, **(fields or {})
    )
    if not taken:
        raise StaleVisit(changes_since(visit, known))
    visit.refresh_from_db(fields=["status", "version", *(fields or {})])
    VisitEvent.objects.create(
        visit=visit,
        version=visit.version,
        kind=kind,
        status=visit.status,
        recorded_at=at,
        recorded_by=by,
    )
    if visit.status in ENDED:
        Draft.objects.filter(visit=visit).delete()
    audit.record_event(kind, target=visit, by=by, at=at, version=visit.version, **detail)
    return visit


def changes_since(visit: Visit, version: int) -> list[VisitEvent]:
    """Return what others did after a version, oldest first."""
    return list(
        VisitEvent.objects.filter(visit=visit, version__gt=version).select_related(
            "recorded_by"
        )
    )
