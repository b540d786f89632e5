"""Reads of what clients asked for, and of whose time is over."""

import calendar
import datetime as dt
from dataclasses import dataclass, field

from django.db.models import Exists, OuterRef, Q, QuerySet

from clients.models import (
    Appointment,
    Client,
    ClientAlert,
    ClientImport,
    Consent,
    Erasure,
    ErasureStep,
    ImportStatus,
    PatchTest,
    Photo,
    ReceivedRecord,
    Reminder,
    ReminderStatus,
    Restriction,
    RetentionRun,
    SafetyAnswer,
    Shut,
    Status,
    WaitingEntry,
)
from clients.people import person
from clients.photos import received
from clients.privacy import holdings
from clients.privacy.holdings import Evidence
from clients.selectors.desk import today
from salon.models import Policy, Salon
from salon.selectors import policy_in_force

# A request can be stopped so long, by any owner; the law gives a month (GDPR, 12 (3)).
WAIT = dt.timedelta(days=7)
# So many names are on a page of what is past its time, or kept.
NAMED = 50
# A shorter period counts only after this: nobody shortens it to hide something today.
NOTICE = dt.timedelta(days=30)
_GOES_ON = (Status.BOOKED, Status.CHECKED_IN, Status.IN_SERVICE)


@dataclass(frozen=True)
class Rights:
    """The state of somebody's requests."""

    client: Client
    erasure: Erasure | None
    restriction: Restriction | None
    evidence: list[Evidence]
    keep_until: dt.date | None
    is_busy: bool

    @property
    def is_requested(self) -> bool:
        """Whether an erasure waits."""
        return self.erasure is not None and self.erasure.step == ErasureStep.REQUESTED

    @property
    def due_at(self) -> dt.datetime | None:
        """When a waiting erasure may be done."""
        return self.erasure.recorded_at + WAIT if self.erasure and self.is_requested else None

    @property
    def is_restricted(self) -> bool:
        """Whether the record is only stored."""
        return self.client.shut == Shut.RESTRICTED

    @property
    def is_erased(self) -> bool:
        """Whether the data were erased."""
        return self.client.shut == Shut.ERASED


@dataclass(frozen=True)
class Overdue:
    """What a retention run would do now."""

    people: list[Client] = field(default_factory=list)  # the first of them, by name
    people_count: int = 0
    requested: list[Erasure] = field(default_factory=list)
    kept: list[Erasure] = field(default_factory=list)
    photos: int = 0
    # Copies from other salons that hold photos from before this moment.
    copies: list[ReceivedRecord] = field(default_factory=list)
    photos_until: dt.datetime | None = None
    messages: int = 0
    imports: int = 0

    def counts(self) -> dict[str, int]:
        """Return how many of each kind."""
        return {
            "people": self.people_count,
            "requested": len(self.requested),
            "kept": len(self.kept),
            "photos": self.photos + self._old_copied_photos(),
            "messages": self.messages,
            "imports": self.imports,
        }

    def _old_copied_photos(self) -> int:
        return sum(len(received.taken_before(row, self.photos_until)) for row in self.copies)


def rights_of(*, client: Client, at: dt.datetime) -> Rights:
    """Return what somebody asked for, and what an erasure would have to keep."""
    whole, ids = person.root(client), person.ids_of(client)
    evidence = holdings.evidence_of(ids)
    busy = Appointment.objects.filter(client__in=ids, status__in=_GOES_ON)
    return Rights(
        client=whole,
        erasure=Erasure.objects.filter(client__in=ids).order_by("recorded_at", "pk").last(),
        restriction=Restriction.objects.filter(client__in=ids).last(),
        evidence=evidence,
        keep_until=kept_until(salon=whole.salon, evidence=evidence, at=at),
        is_busy=busy.exists(),
    )


def kept_until(*, salon: Salon, evidence: list[Evidence], at: dt.datetime) -> dt.date | None:
    """Return the day until which evidence stays; None where nothing has to."""
    if not evidence:
        return None
    last = max(proof.last_at for proof in evidence).astimezone(salon.zone).date()
    until = _months_later(last, 12 * keep_years(salon=salon, at=at))
    return until if until > today(salon=salon, at=at) else None


def keep_years(*, salon: Salon, at: dt.datetime) -> int:
    """Return for how many years records stay: the longest rule of the last weeks."""
    current = policy_in_force(salon=salon)
    recent = Policy.objects.filter(salon=salon, recorded_at__gt=at - NOTICE).order_by("number")
    first = recent.first()
    before = (
        Policy.objects.filter(salon=salon, number__lt=first.number).order_by("-number").first()
        or Policy(salon=salon, number=0)
        if first
        else None
    )
    return max(rules.records_keep_years for rules in (current, *recent, before) if rules)


def past_people(*, salon: Salon, at: dt.datetime, beyond: int, most: int) -> list[Client]:
    """Return people of whom nothing happened for years, of those beyond a client's number."""
    return list(_past(salon, at).filter(pk__gt=beyond).order_by("pk")[:most])


def old_photos(*, salon: Salon, at: dt.datetime, most: int) -> list[Photo]:
    """Return photos that are past their time."""
    return list(_photos_before(salon, _photos_until(salon, at))[:most])


def _photos_until(salon: Salon, at: dt.datetime) -> dt.datetime:
    years = policy_in_force(salon=salon).photos_keep_years
    return _start_of(_months_later(today(salon=salon, at=at), -12 * years), salon)


def _photos_before(salon: Salon, moment: dt.datetime) -> QuerySet[Photo]:
    photos = Photo.objects.filter(salon=salon, removal__isnull=True, taken_at__lt=moment)
    return photos.exclude(client__shut=Shut.RESTRICTED)


def overdue(*, salon: Salon, at: dt.datetime, named: int = NAMED) -> Overdue:
    """Return what is past its time in a salon, and the requests whose wait is over.

    So many of the people are `named`, and all are counted; with 0 they are not looked for.
    """
    policy, day = policy_in_force(salon=salon), today(salon=salon, at=at)
    messages_until = _start_of(_months_later(day, -policy.messages_keep_months), salon)
    photos_until, past = _photos_until(salon, at), _past(salon, at)
    return Overdue(
        people=list(past[:named]),
        people_count=past.count() if named else 0,
        requested=[
            row for row in _latest(salon, ErasureStep.REQUESTED) if row.recorded_at + WAIT <= at
        ],
        kept=list(_latest(salon, ErasureStep.DONE).filter(kept_until__lt=day)),
        photos=_photos_before(salon, photos_until).count(),
        copies=_copies_before(salon, photos_until),
        photos_until=photos_until,
        messages=old_messages(salon=salon, before=messages_until).count(),
        imports=old_imports(salon=salon, before=messages_until).count(),
    )


def _copies_before(salon: Salon, moment: dt.datetime) -> list[ReceivedRecord]:
    """Return copies from other salons that hold a photo from before a moment."""
    rows = ReceivedRecord.objects.filter(salon=salon).exclude(photos=[])
    rows = rows.exclude(client__shut=Shut.RESTRICTED)
    return [row for row in rows if received.taken_before(row, moment)]


def messages_before(*, salon: Salon, at: dt.datetime) -> dt.datetime:
    """Return the moment before which messages are past their time."""
    months = policy_in_force(salon=salon).messages_keep_months
    return _start_of(_months_later(today(salon=salon, at=at), -months), salon)


def old_messages(*, salon: Salon, before: dt.datetime) -> QuerySet[Reminder]:
    """Return reminders that are settled and past their time."""
    settled = [ReminderStatus.SENT, ReminderStatus.DROPPED, ReminderStatus.FAILED]
    rows = Reminder.objects.filter(salon=salon, status__in=settled, due_at__lt=before)
    return rows.exclude(client__shut=Shut.RESTRICTED)


def old_imports(*, salon: Salon, before: dt.datetime) -> QuerySet[ClientImport]:
    """Return imports that still hold rows of a list, long after it was brought in."""
    return ClientImport.objects.filter(
        salon=salon,
        loaded_at__lt=before,
        status__in=[ImportStatus.LOADED, ImportStatus.DONE, ImportStatus.UNDONE],
    ).exclude(refused=[], rows=[])


def retention_runs(*, salon: Salon) -> QuerySet[RetentionRun]:
    """Return the latest runs."""
    return RetentionRun.objects.filter(salon=salon)[:12]


def waiting_erasures(*, salon: Salon) -> list[tuple[Erasure, dt.datetime]]:
    """Return the requests that wait, with when each may be done."""
    return [(row, row.recorded_at + WAIT) for row in _latest(salon, ErasureStep.REQUESTED)]


def kept_erasures(*, salon: Salon) -> tuple[list[Erasure], int]:
    """Return whose data were erased but for what a claim may need, and how many more.

    Those that are kept for the shortest time come first.
    """
    rows = _latest(salon, ErasureStep.DONE).filter(kept_until__isnull=False)
    named = list(rows.order_by("kept_until", "pk")[:NAMED])
    return named, rows.count() - len(named)


def consent_rows(
    *, salon: Salon, kind: str = "", answer: str = "", latest: bool = False
) -> QuerySet[Consent]:
    """Return what clients agreed to and withdrew, latest first; `answer` may be "given"."""
    rows = Consent.objects.filter(client__salon=salon).select_related("client", "recorded_by")
    if kind:
        rows = rows.filter(kind=kind)
    if answer:
        rows = rows.filter(is_given=answer == "given")
    if latest:
        later = Consent.objects.filter(
            client=OuterRef("client"),
            kind=OuterRef("kind"),
            recorded_at__gt=OuterRef("recorded_at"),
        )
        rows = rows.filter(~Exists(later))
    return rows


def _latest(salon: Salon, step: str) -> QuerySet[Erasure]:
    """Return erasures whose latest step it is."""
    later = Erasure.objects.filter(client=OuterRef("client"), pk__gt=OuterRef("pk"))
    rows = Erasure.objects.filter(~Exists(later), client__salon=salon, step=step)
    return rows.select_related("client__salon")


def _past(salon: Salon, at: dt.datetime) -> QuerySet[Client]:
    """Return people of whom nothing happened since the period began."""
    years = keep_years(salon=salon, at=at)
    limit = _start_of(_months_later(today(salon=salon, at=at), -12 * years), salon)
    of_person = person.named_by("client", OuterRef("pk"))
    newer = Q()
    for model, moment in (
        (Appointment, "starts_at"),
        (PatchTest, "applied_at"),
        (SafetyAnswer, "answered_at"),
        (ClientAlert, "recorded_at"),
        (Consent, "recorded_at"),
        (Restriction, "recorded_at"),
        (WaitingEntry, "added_at"),
        (ReceivedRecord, "received_at"),
    ):
        rows = model._default_manager.filter(of_person, **{f"{moment}__gte": limit})
        newer |= Q(Exists(rows))
    open_now = Appointment.objects.filter(of_person, status__in=_GOES_ON)
    people = Client.objects.for_salon(salon).filter(
        merged_into__isnull=True, shut=Shut.NOT, registered_at__lt=limit
    )
    with_erasure = Erasure.objects.filter(of_person)
    return people.exclude(newer).exclude(Exists(open_now)).exclude(Exists(with_erasure))


def _months_later(day: dt.date, months: int) -> dt.date:
    """Return the same day of another month, or its last."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    return dt.date(year, month + 1, min(day.day, calendar.monthrange(year, month + 1)[1]))


def _start_of(day: dt.date, salon: Salon) -> dt.datetime:
    return dt.datetime.combine(day, dt.time(), salon.zone)
