"""What is known of clients, and how they are found."""

import datetime as dt

from django.db.models import Q, QuerySet

from clients.models import (
    AlertKind,
    Appointment,
    Client,
    ClientAlert,
    Consent,
    SafetyAnswer,
    Status,
)
from clients.people import person, search
from clients.selectors.desk import lines_in_use, may_see_medical
from clients.skin_test.state import PatchState, patch_states
from formulas.models import ProductLine
from salon.models import Salon, Staff

MOST_FOUND = 20


def find_clients(*, salon: Salon, text: str, most: int = MOST_FOUND) -> list[Client]:
    """Return clients by name, phone, e-mail or birth date; frequent clients first."""
    return search.find(salon=salon, text=text, most=most)


def alerts_in_force(*, client: Client, viewer: Staff | None = None) -> list[ClientAlert]:
    """Return alerts that no later row lifts; what medical notes say only to who may see it."""
    alerts = ClientAlert.objects.filter(
        client__in=client.entries_of_person, lifted_by__isnull=True, lifts__isnull=True
    )
    return _shown_to(viewer, alerts.select_related("recorded_by"))


def _shown_to(viewer: Staff | None, alerts: QuerySet[ClientAlert]) -> list[ClientAlert]:
    """Return alerts, medical notes without their words where the reader may not read them."""
    hides = viewer is not None and not may_see_medical(viewer)
    found = list(alerts)
    for alert in found:
        alert.is_hidden = hides and alert.kind == AlertKind.MEDICAL
    return found


def alerts_of(*, clients: list[Client], viewer: Staff) -> dict[int, list[ClientAlert]]:
    """Return the alerts in force, by person, that the reader may see."""
    if not clients:
        return {}
    entries = person.entries_of(clients)
    alerts = ClientAlert.objects.filter(
        client__in=entries, lifts__isnull=True, lifted_by__isnull=True
    )
    found: dict[int, list[ClientAlert]] = {}
    for alert in _shown_to(viewer, alerts):
        found.setdefault(entries[alert.client_id], []).append(alert)
    return found


def safety_answers_in_force(*, client: Client) -> dict[str, SafetyAnswer]:
    """Return the latest answer to each question."""
    answers = SafetyAnswer.objects.filter(client__in=person.ids_of(client))
    answers = answers.order_by("answered_at", "pk").select_related("answered_by")
    return {answer.question: answer for answer in answers}


def safety_answers_with_previous(
    *, client: Client
) -> dict[str, tuple[SafetyAnswer, SafetyAnswer | None]]:
    """Return the latest answer to each question, with the last one that differs."""
    latest: dict[str, tuple[SafetyAnswer, SafetyAnswer | None]] = {}
    answers = SafetyAnswer.objects.filter(client__in=person.ids_of(client))
    for answer in answers.order_by("answered_at", "pk").select_related("answered_by"):
        last, otherwise = latest.get(answer.question, (None, None))
        changed = last is not None and last.answer != answer.answer
        latest[answer.question] = (answer, last if changed else otherwise)
    return latest


def safety_history(*, client: Client) -> QuerySet[SafetyAnswer]:
    """Return every answer, latest first."""
    answers = SafetyAnswer.objects.filter(client__in=person.ids_of(client))
    return answers.select_related("answered_by")


def consents_in_force(*, client: Client) -> dict[str, Consent]:
    """Return the latest word on each consent."""
    rows = Consent.objects.filter(client__in=person.ids_of(client))
    rows = rows.order_by("recorded_at", "pk").select_related("recorded_by")
    return {row.kind: row for row in rows}


def client_states(*, client: Client, at: dt.datetime) -> list[tuple[ProductLine, PatchState]]:
    """Return the client's patch state for every line in use."""
    lines = list(lines_in_use(salon=client.salon).select_related("salon"))
    states = patch_states([(client, line) for line in lines], at=at)
    return [(line, states[client.pk, line.pk]) for line in lines]


def upcoming(*, client: Client, at: dt.datetime) -> QuerySet[Appointment]:
    """Return what the client has booked from now on."""
    booked = Appointment.objects.filter(client__in=person.ids_of(client)).for_show()
    return booked.filter(
        Q(ends_at__gte=at) | Q(status=Status.IN_SERVICE),
        status__in=[Status.BOOKED, Status.CHECKED_IN, Status.IN_SERVICE],
    )


def no_shows(*, client: Client) -> int:
    """Return how often the client was expected and did not come."""
    booked = Appointment.objects.filter(client__in=person.ids_of(client))
    return booked.filter(status=Status.NO_SHOW).count()


def last_visit(*, client: Client) -> Appointment | None:
    """Return what the client was last here for."""
    done = Appointment.objects.filter(client__in=person.ids_of(client), status=Status.DONE)
    return done.for_show().order_by("-starts_at").first()
