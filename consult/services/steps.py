"""How every write of a visit moves it on: one version, one event, one audit event."""

import datetime as dt
from collections.abc import Sequence
from typing import Any

from django.db.models import F
from django.utils.translation import gettext as _

from consult import policies
from consult.models import ENDED, Draft, Status, Visit, VisitEvent
from consult.visit.facts import VisitFacts
from consult.visit.loading import facts_of
from consult.visit.path import Act
from salon import audit
from salon.models import Staff
from salon.refusals import Refused, Stale


class StaleVisit(Stale):
    """Raised when someone else changed the visit since the form was opened."""

    is_worded_by_page = True

    def __init__(self, changes: Sequence[VisitEvent] = ()) -> None:
        super().__init__(_("Someone else has worked on this visit since you opened it."))
        self.changes = list(changes)


class OutOfOrder(Refused):
    """Raised when a step is taken before the ones that it needs."""


def check_may(visit: Visit, act: Act, *, at: dt.datetime) -> VisitFacts:
    """Return the facts of a visit, or refuse an act with what has to come first."""
    facts = facts_of(visit, at=at)
    if not facts.may(act):
        raise OutOfOrder(facts.why_not(act), code=act)
    return facts


def advance(
    visit: Visit,
    *,
    kind: str,
    by: Staff,
    at: dt.datetime,
    to: Status = Status.OPEN,
    expected_version: int | None = None,
    fields: dict[str, object] | None = None,
    **detail: Any,
) -> Visit:
    """Raise the version of an open visit, or end it (`to`), or refuse a stale form.

    Without `expected_version` the caller takes the visit as it is now.
    """
    policies.check_can_see(by=by, visit=visit)
    known = visit.version if expected_version is None else expected_version
    taken = Visit.objects.filter(pk=visit.pk, version=known, status=Status.OPEN).update(
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
