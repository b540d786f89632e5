"""What the stylist asks and sees before anything is chosen."""

import datetime as dt
from collections.abc import Mapping

from django.db import transaction
from django.utils.translation import gettext as _

from clients import services as desk
from clients.models import Answer
from clients.skin_test.safety import QUESTIONS
from consult import policies, selectors
from consult.hair import residue
from consult.hair.reading_fields import LOOKED_AT, READING_FIELDS, FactsRead, ZoneRead
from consult.models import HairFacts, Visit, Washes, ZoneReading
from consult.services.steps import advance, check_may
from consult.visit.path import Act
from consult.zones import Zone
from salon.models import Staff
from salon.refusals import Refused


class AnswersMissing(Refused):
    """Raised when a question that must be answered was not."""


class ReadingMissing(Refused):
    """Raised when a zone was left unread, or no zone is to be toned."""


@transaction.atomic
def answer_safety(
    *,
    visit: Visit,
    answers: Mapping[str, str],
    by: Staff,
    at: dt.datetime,
    expected_version: int | None = None,
    agreed_by: str | None = None,
) -> Visit:
    """Record the answers of today; one that forbids colour shuts the way to a further bowl."""
    policies.check_can_work_on(by=by, visit=visit)
    skippable = {q.key for q in QUESTIONS if q.may_be_skipped}
    complete = {
        q.key: answers.get(q.key) or (Answer.SKIPPED if q.may_be_skipped else "")
        for q in QUESTIONS
    }
    if not all(complete.values()) or any(
        answer == Answer.SKIPPED and key not in skippable for key, answer in complete.items()
    ):
        raise AnswersMissing(_("Answer every question. Only the last one may stay open."))
    advance(
        visit,
        kind="safety answered",
        by=by,
        at=at,
        expected_version=expected_version,
    )
    desk.answer_safety_questions(
        client=visit.client, answers=complete, agreed_by=agreed_by, by=by, at=at
    )
    return visit


@transaction.atomic
def read_hair(
    *,
    visit: Visit,
    readings: Mapping[str, ZoneRead],
    by: Staff,
    at: dt.datetime,
    facts: FactsRead | None = None,
    expected_version: int | None = None,
) -> list[ZoneReading]:
    """Record what every zone shows; a zone that reads as before gets no new row.

    `readings` are by zone. A change asks for a new choice.
    """
    policies.check_can_work_on(by=by, visit=visit)
    check_may(visit, Act.READ, at=at)
    if set(readings) != set(Zone.values):
        raise ReadingMissing(
            _("Read all three zones: roots, mid-lengths and ends."), code="zones_missing"
        )
    if not any(fields.get("is_toned", True) for fields in readings.values()):
        raise ReadingMissing(_("Choose at least one zone to tone."), code="nothing_to_tone")
    for fields in readings.values():
        _check_was_looked_at(visit, fields)
    before = selectors.readings_in_force(visit)
    new = []
    for zone in Zone.values:
        row = ZoneReading(
            visit=visit, zone=zone, recorded_at=at, recorded_by=by, **readings[zone]
        )
        row.full_clean()
        if zone not in before or _reads_otherwise(before[zone], row):
            new.append(row)
    hair_facts = HairFacts(
        visit=visit, recorded_at=at, recorded_by=by, **_with_washes(visit, facts or {}, at)
    )
    hair_facts.full_clean()
    advance(visit, kind="hair read", by=by, at=at, expected_version=expected_version)
    for row in new:
        row.save()
    hair_facts.save()
    return new


def _check_was_looked_at(visit: Visit, fields: ZoneRead) -> None:
    """Refuse a zone that nobody read, or that claims to come from some other visit."""
    if any(fields.get(name) is None for name in LOOKED_AT):
        raise ReadingMissing(_("Fill in every value of a zone."), code="values_missing")
    carried = fields.get("carried_from")
    last = residue.last_toned(visit) if carried else None
    if carried and (last is None or carried.pk != last.pk):
        raise ReadingMissing(
            _("You can only confirm the reading from the last visit."), code="not_last_visit"
        )


def _with_washes(visit: Visit, facts: FactsRead, at: dt.datetime) -> FactsRead:
    """Return the facts with how the washes are known; those not asked are assumed, as such."""
    values = facts.copy()
    if values.get("washes_since_toner") is not None:
        values["washes_answer"] = Washes.COUNTED
    elif values.get("washes_answer") == Washes.NOT_ASKED:
        values["washes_assumed"] = residue.washes_assumed(visit, at=at)
    return values


def _reads_otherwise(old: ZoneReading, new: ZoneReading) -> bool:
    return any(getattr(old, name) != getattr(new, name) for name in READING_FIELDS)
