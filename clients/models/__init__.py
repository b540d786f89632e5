"""The front desk's records."""

from clients.models.alert import AlertCode, AlertKind, ClientAlert, Sign
from clients.models.appointment import (
    Appointment,
    AppointmentEvent,
    CancelReason,
    EventKind,
    Status,
)
from clients.models.birth_date import BirthDateChange
from clients.models.call import CallOutcome, CallReason, ClientCall
from clients.models.client import Client, ContactBy, Household, Shut
from clients.models.client_import import ClientImport, ImportStatus
from clients.models.client_key import ClientKey
from clients.models.consent import PLAIN_KINDS, Consent, ConsentKind
from clients.models.desk_draft import DeskDraft
from clients.models.desk_policy import DeskPolicy
from clients.models.diary import Chair, Service, SlotClaim
from clients.models.erasure import Erasure, ErasureReason, ErasureStep
from clients.models.feed import CalendarFeed
from clients.models.hair_history import HairHistoryEntry, HairWork, Origin
from clients.models.hours import Absence, AbsenceKind, ClosedDay, OpeningHours, Weekday
from clients.models.merge import ClientMerge, NotTheSame, PossibleDuplicate
from clients.models.patch_test import (
    PatchOverride,
    PatchTest,
    PatchTestReading,
    ReadingOutcome,
    Site,
)
from clients.models.photo import Moment, Part, Photo, PhotoRemoval, RemovalReason
from clients.models.received_record import ReceivedRecord
from clients.models.record_access import SAME_LOOK, AccessKind, RecordAccess
from clients.models.record_move import MoveState, RecordMove
from clients.models.reminder import Reminder, ReminderKind, ReminderStatus, ReminderTemplate
from clients.models.restriction import Restriction, RestrictionReason
from clients.models.retention_run import RetentionRun
from clients.models.safety_answer import Answer, SafetyAnswer
from clients.models.search import SearchKey, SearchVariant
from clients.models.value_to_correct import ValueField, ValueProblem, ValueToCorrect
from clients.models.waiting import Waiting, WaitingEntry

__all__ = [
    "PLAIN_KINDS",
    "SAME_LOOK",
    "Absence",
    "AbsenceKind",
    "AccessKind",
    "AlertCode",
    "AlertKind",
    "Answer",
    "Appointment",
    "AppointmentEvent",
    "BirthDateChange",
    "CalendarFeed",
    "CallOutcome",
    "CallReason",
    "CancelReason",
    "Chair",
    "Client",
    "ClientAlert",
    "ClientCall",
    "ClientImport",
    "ClientKey",
    "ClientMerge",
    "ClosedDay",
    "Consent",
    "ConsentKind",
    "ContactBy",
    "DeskDraft",
    "DeskPolicy",
    "Erasure",
    "ErasureReason",
    "ErasureStep",
    "EventKind",
    "HairHistoryEntry",
    "HairWork",
    "Household",
    "ImportStatus",
    "Moment",
    "MoveState",
    "NotTheSame",
    "OpeningHours",
    "Origin",
    "Part",
    "PatchOverride",
    "PatchTest",
    "PatchTestReading",
    "Photo",
    "PhotoRemoval",
    "PossibleDuplicate",
    "ReadingOutcome",
    "ReceivedRecord",
    "RecordAccess",
    "RecordMove",
    "Reminder",
    "ReminderKind",
    "ReminderStatus",
    "ReminderTemplate",
    "RemovalReason",
    "Restriction",
    "RestrictionReason",
    "RetentionRun",
    "SafetyAnswer",
    "SearchKey",
    "SearchVariant",
    "Service",
    "Shut",
    "Sign",
    "Site",
    "SlotClaim",
    "Status",
    "ValueField",
    "ValueProblem",
    "ValueToCorrect",
    "Waiting",
    "WaitingEntry",
    "Weekday",
]
