"""Everything that happened with a client, in one list."""

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass

from django.utils.translation import gettext as _

from clients.models import (
    AlertKind,
    Appointment,
    BirthDateChange,
    Client,
    ClientAlert,
    ClientMerge,
    Consent,
    HairHistoryEntry,
    PatchOverride,
    PatchTest,
    Photo,
    SafetyAnswer,
)
from clients.people import person
from clients.selectors.desk import may_see_medical
from clients.skin_test.safety import BY_KEY
from salon.models import AuditEvent, Staff

_MOST_CHANGES = 50
_CLIENT_FIELDS = {
    field.name: field.verbose_name
    for field in Client._meta.get_fields()
    if hasattr(field, "verbose_name")
}


@dataclass(frozen=True)
class Entry:
    """One line of a client's timeline."""

    at: dt.datetime
    what: str
    detail: str
    by: str


def client_timeline(*, client: Client, viewer: Staff | None = None) -> list[Entry]:
    """Return what happened, latest first; a fixed number of queries however long it is."""
    ids = person.ids_of(client)
    medical = viewer is None or may_see_medical(viewer)
    sources = (
        _appointments,
        _tests,
        _births,
        _changes,
        _consents,
        _answers,
        _hair,
        _merges,
        _photos,
    )
    entries = [entry for source in sources for entry in source(ids)]
    entries += _alerts(ids, medical)
    return sorted(entries, key=lambda entry: entry.at, reverse=True)


def _appointments(ids: list[int]) -> Iterator[Entry]:
    for appointment in Appointment.objects.filter(client__in=ids).for_show():
        title = f"{appointment.service}: {appointment.get_status_display()}"
        yield Entry(
            appointment.starts_at, title, appointment.cancel_words, str(appointment.stylist)
        )
    overrides = PatchOverride.objects.filter(appointment__client__in=ids)
    for row in overrides.select_related("recorded_by"):
        title = _("colour allowed by override")
        yield Entry(row.recorded_at, title, row.reason, str(row.recorded_by))


def _tests(ids: list[int]) -> Iterator[Entry]:
    tests = PatchTest.objects.filter(client__in=ids).select_related("line", "applied_by")
    for test in tests.prefetch_related("readings__read_by"):
        detail = f"{test.line}, {test.get_site_display()}"
        if test.is_entered_late:
            detail = f"{detail}. {test.late_note} {test.late_reason}"
        yield Entry(test.applied_at, _("patch test placed"), detail, str(test.applied_by))
        for row in test.readings.all():
            title = _("patch test read: %(outcome)s") % {"outcome": row.get_outcome_display()}
            detail = f"{test.line}. {row.signs}" if row.signs else str(test.line)
            yield Entry(row.read_at, title, detail, str(row.read_by))


def _alerts(ids: list[int], medical: bool) -> Iterator[Entry]:
    alerts = ClientAlert.objects.filter(client__in=ids).select_related("recorded_by")
    for row in alerts:
        if row.kind == AlertKind.MEDICAL and not medical:
            continue
        kind = {"kind": row.get_kind_display()}
        title = (_("alert removed: %(kind)s") if row.lifts_id else _("alert: %(kind)s")) % kind
        yield Entry(row.recorded_at, title, row.words, str(row.recorded_by))


def _consents(ids: list[int]) -> Iterator[Entry]:
    for row in Consent.objects.filter(client__in=ids).select_related("recorded_by"):
        title = _("consent given") if row.is_given else _("consent withdrawn")
        by = str(row.recorded_by) if row.recorded_by else _("at the client's request")
        yield Entry(row.recorded_at, title, row.get_kind_display(), by)


def _answers(ids: list[int]) -> Iterator[Entry]:
    """Yield one entry per sitting, with how many answers were a yes."""
    sittings: dict[tuple[dt.datetime, str], list[SafetyAnswer]] = {}
    for row in SafetyAnswer.objects.filter(client__in=ids).select_related("answered_by"):
        key = (row.answered_at, str(row.answered_by))
        sittings.setdefault(key, []).append(row)
    for (at, by), rows in sittings.items():
        answered_yes = [str(BY_KEY[r.question].text) for r in rows if _is_yes(r)]
        yield Entry(at, _("safety questions answered"), " ".join(answered_yes), by)


def _is_yes(row: SafetyAnswer) -> bool:
    question = BY_KEY.get(row.question)
    return row.answer == "yes" and question is not None and not question.may_be_skipped


def _hair(ids: list[int]) -> Iterator[Entry]:
    rows = HairHistoryEntry.objects.filter(client__in=ids).select_related("recorded_by")
    for row in rows:
        title = _("hair history removed") if row.withdraws_id else _("hair history")
        detail = f"{row.get_work_display()}, {row.get_origin_display()}. {row.note}".strip()
        yield Entry(row.recorded_at, title, detail, str(row.recorded_by))


def _births(ids: list[int]) -> Iterator[Entry]:
    rows = BirthDateChange.objects.filter(client__in=ids).select_related("recorded_by")
    for row in rows:
        age = _("was %(age)d years old") % {"age": row.age_before}
        title = (
            _("birth date changed, including the year")
            if row.is_year_changed
            else _("birth date changed")
        )
        detail = f"{age}. {row.reason}" if row.reason else age
        yield Entry(row.recorded_at, title, detail, str(row.recorded_by))


def _changes(ids: list[int]) -> Iterator[Entry]:
    """Yield which fields were changed, never to what."""
    events = AuditEvent.objects.filter(
        target_type="clients.client",
        target_id__in=[str(pk) for pk in ids],
        kind="client changed",
    )
    for event in events.order_by("-pk")[:_MOST_CHANGES]:
        names = [n for n in event.detail.get("fields", []) if n in _CLIENT_FIELDS]
        labels = [str(_CLIENT_FIELDS[name]) for name in names]
        yield Entry(event.at, _("client details changed"), ", ".join(labels), event.actor_label)


def _merges(ids: list[int]) -> Iterator[Entry]:
    rows = ClientMerge.objects.filter(kept__in=ids).select_related(
        "merged", "merged_by", "undone_by"
    )
    for row in rows:
        yield Entry(
            row.merged_at, _("merged with another entry"), row.merged.name, str(row.merged_by)
        )
        if row.undone_at:
            yield Entry(row.undone_at, _("merge undone"), row.merged.name, str(row.undone_by))


def _photos(ids: list[int]) -> Iterator[Entry]:
    rows = Photo.objects.filter(client__in=ids)
    for row in rows.select_related("taken_by", "removal__removed_by"):
        yield Entry(row.taken_at, _("photo taken"), row.label, str(row.taken_by))
        if hasattr(row, "removal"):
            removal = row.removal
            detail = f"{row.label}. {removal.get_reason_display()}"
            yield Entry(removal.removed_at, _("photo deleted"), detail, str(removal.removed_by))
