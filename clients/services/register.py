"""Writes of the client register."""

import datetime as dt
from collections.abc import Mapping
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from clients.models import AlertKind, Answer, BirthDateChange, Client, ClientAlert, SafetyAnswer
from clients.models.alert import AlertDetails
from clients.people import age, possible_duplicates, search_index
from clients.policies import check_can_work_at_desk
from clients.services.health_consent import check_health_consent, take_health_consent
from clients.skin_test.safety import BY_KEY
from formulas.models import ProductLine
from salon import audit
from salon.models import Staff
from salon.policies import is_owner, records_in
from salon.refusals import Refused, Stale
from salon.selectors import policy_in_force


class StaleClient(Stale):
    """Raised when someone else changed the client since the form was opened."""


class BirthDateStays(Refused):
    """Raised when a birth date would cross an age line without an owner and a reason."""

    field = "birth_date"


class AlertStays(Refused):
    """Raised when an alert that blocks a line would be removed."""


@transaction.atomic
def register_client(*, by: Staff, at: dt.datetime, **fields: Any) -> Client:
    """Add a client to the actor's salon."""
    check_can_work_at_desk(*records_in(fields), by=by)
    client = Client(salon=by.salon, registered_at=at, **fields)
    _check_birth(client, at)
    client.full_clean()
    client.save()
    search_index.index([client])
    possible_duplicates.refresh([client.pk])
    audit.record_event("client registered", target=client, by=by, at=at)
    return client


@transaction.atomic
def change_client(
    *,
    client: Client,
    expected_version: int,
    by: Staff,
    at: dt.datetime,
    birth_reason: str = "",
    **fields: Any,
) -> Client:
    """Change what is known of a client, unless someone else did so in between.

    A birth date that takes a client over an age line needs an owner and a reason.
    """
    check_can_work_at_desk(client, *records_in(fields), by=by)
    taken = Client.objects.filter(pk=client.pk, version=expected_version).update(
        version=expected_version + 1
    )
    if not taken:
        raise StaleClient(
            _(
                "Someone else changed this client since you opened the page. Compare, "
                "then save again."
            )
        )
    client.refresh_from_db()
    changed = sorted(n for n, value in fields.items() if getattr(client, n) != value)
    today = at.astimezone(client.salon.zone).date()
    born, age_before = client.birth_date, client.age_on(today)
    for name, value in fields.items():
        setattr(client, name, value)
    _check_birth(client, at)
    detail: dict[str, Any] = {}
    if "birth_date" in changed and born is not None and age_before is not None:
        policy = policy_in_force(salon=client.salon)
        if age.opens_a_line(age_before, client.age_on(today), policy):
            _check_owner_gives_reason(by, birth_reason)
        year = client.birth_date is None or client.birth_date.year != born.year
        detail = {"age_before": age_before, "year_changed": year}
        BirthDateChange.objects.create(
            client=client,
            age_before=age_before,
            is_year_changed=year,
            reason=birth_reason.strip(),
            recorded_at=at,
            recorded_by=by,
        )
    client.full_clean()
    client.save()
    search_index.index([client])
    possible_duplicates.refresh([client.pk])
    audit.record_event("client changed", target=client, by=by, at=at, fields=changed, **detail)
    return client


def _check_owner_gives_reason(by: Staff, reason: str) -> None:
    if not is_owner(by=by):
        raise BirthDateStays(
            _(
                "With this birth date a younger client could be coloured. Only the owner "
                "can change it."
            ),
            code="owner_only",
        )
    if not reason.strip():
        raise BirthDateStays(_("Say why you change the birth date."), code="no_reason")


def _check_birth(client: Client, at: dt.datetime) -> None:
    if client.birth_date and client.birth_date > at.astimezone(client.salon.zone).date():
        raise ValidationError({"birth_date": _("This is in the future. Check the date.")})


@transaction.atomic
def raise_alert(
    *,
    client: Client,
    kind: str,
    by: Staff,
    at: dt.datetime,
    text: str = "",
    line: ProductLine | None = None,
    code: str = "",
    details: AlertDetails | None = None,
) -> ClientAlert:
    """Put up an alert that everyone sees; one that names a line blocks it for this client.

    What a person typed is `text`; what the product says, a `code` and its details.
    """
    check_can_work_at_desk(client, line, by=by)
    if kind in {AlertKind.ALLERGY, AlertKind.MEDICAL}:  # a reaction is kept whatever is agreed
        check_health_consent(client)
    alert = ClientAlert(
        client=client,
        kind=kind,
        text=text,
        code=code,
        details=dict(details or {}),  # type: ignore[misc]  # closed as text
        line=line,
        recorded_by=by,
        recorded_at=at,
    )
    alert.full_clean()
    alert.save()
    audit.record_event("alert raised", target=alert, by=by, at=at, alert_kind=kind)
    return alert


@transaction.atomic
def remove_alert(
    *,
    alert: ClientAlert,
    by: Staff,
    at: dt.datetime,
    text: str = "",
    code: str = "",
    is_mistake: bool = False,
) -> ClientAlert:
    """Lift an alert by a further row that says why.

    One that blocks a line stays: only the visit that put it up may say that it was pressed
    by mistake, or put a fuller one in its place.
    """
    check_can_work_at_desk(alert.client, by=by)
    if alert.is_for_good and not is_mistake:
        raise AlertStays(_("A reaction to colour stays on record. Nobody can remove it."))
    lifting = ClientAlert(
        client=alert.client,
        kind=alert.kind,
        text=text,
        code=code,
        lifts=alert,
        recorded_by=by,
        recorded_at=at,
    )
    lifting.full_clean()
    lifting.save()
    audit.record_event("alert lifted", target=alert, by=by, at=at)
    return lifting


@transaction.atomic
def answer_safety_questions(
    *,
    client: Client,
    answers: Mapping[str, str],
    by: Staff,
    at: dt.datetime,
    agreed_by: str | None = None,
) -> list[SafetyAnswer]:
    """Record the answers given at one sitting; earlier ones stay."""
    check_can_work_at_desk(client, by=by)
    take_health_consent(client=client, agreed_by=agreed_by, by=by, at=at)
    rows = []
    for key, answer in answers.items():
        if key not in BY_KEY or answer not in Answer.values:
            raise ValueError(f"{key!r}: {answer!r} is no answer to a question of the set")
        rows.append(
            SafetyAnswer.objects.create(
                client=client, question=key, answer=answer, answered_at=at, answered_by=by
            )
        )
    audit.record_event("safety answered", target=client, by=by, at=at, count=len(rows))
    return rows
