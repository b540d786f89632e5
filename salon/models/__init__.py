"""The ground floor's records."""

from salon.models.audit_event import AuditEvent
from salon.models.device import DEVICE_TRIES, Device, ScreenVerdict
from salon.models.key_seen import KeySeen
from salon.models.letter import Letter, LetterState
from salon.models.linked_account import LinkedAccount
from salon.models.logo import SalonLogo
from salon.models.passkey import Passkey
from salon.models.policy import FREE_ENTRY, Policy
from salon.models.prepared_file import OPEN_FILE, FileState, PreparedFile
from salon.models.salon import Salon
from salon.models.second_factor import CODE_TRIES, RecoveryCode, SecondFactor
from salon.models.staff import Role, Staff
from salon.models.staff_pin import PIN_TRIES, StaffPin
from salon.models.staff_session import StaffSession
from salon.models.submission import Submission
from salon.models.work import TimetableEntry, WorkerLease
from salon.models.work_run import RunState, WorkRun

__all__ = [
    "CODE_TRIES",
    "DEVICE_TRIES",
    "FREE_ENTRY",
    "OPEN_FILE",
    "PIN_TRIES",
    "AuditEvent",
    "Device",
    "FileState",
    "KeySeen",
    "Letter",
    "LetterState",
    "LinkedAccount",
    "Passkey",
    "Policy",
    "PreparedFile",
    "RecoveryCode",
    "Role",
    "RunState",
    "Salon",
    "SalonLogo",
    "ScreenVerdict",
    "SecondFactor",
    "Staff",
    "StaffPin",
    "StaffSession",
    "Submission",
    "TimetableEntry",
    "WorkRun",
    "WorkerLease",
]
