"""The front desk's records."""

from clients.models.alert import AlertKind, ClientAlert
from clients.models.appointment import Appointment, AppointmentEvent, Status
from clients.models.client import Client
from clients.models.consent import Consent, ConsentKind
from clients.models.diary import Chair, Service, SlotClaim
from clients.models.patch_test import (
    PatchOverride,
    PatchTest,
    PatchTestReading,
    ReadingOutcome,
    Site,
)
from clients.models.safety_answer import Answer, SafetyAnswer

__all__ = [
    "AlertKind",
    "Answer",
    "Appointment",
    "AppointmentEvent",
    "Chair",
    "Client",
    "ClientAlert",
    "Consent",
    "ConsentKind",
    "PatchOverride",
    "PatchTest",
    "PatchTestReading",
    "ReadingOutcome",
    "SafetyAnswer",
    "Service",
    "Site",
    "SlotClaim",
    "Status",
]
