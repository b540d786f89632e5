"""Every write of the front desk."""

from clients.services.claims import BookingRefused
from clients.services.diary import (
    AlreadyChecked,
    StaleAppointment,
    book_appointment,
    book_series,
    cancel_appointment,
    move_appointment,
)
from clients.services.gatekeeping import (
    CheckInRefused,
    OverrideRefused,
    check_in,
    finish_service,
    record_override,
    start_service,
    undo_check_in,
)
from clients.services.patch_tests import (
    ReadingRefused,
    place_patch_test,
    record_patch_test_reading,
)
from clients.services.register import (
    StaleClient,
    answer_safety_questions,
    change_client,
    lift_alert,
    raise_alert,
    record_consent,
    register_client,
)

__all__ = [
    "AlreadyChecked",
    "BookingRefused",
    "CheckInRefused",
    "OverrideRefused",
    "ReadingRefused",
    "StaleAppointment",
    "StaleClient",
    "answer_safety_questions",
    "book_appointment",
    "book_series",
    "cancel_appointment",
    "change_client",
    "check_in",
    "finish_service",
    "lift_alert",
    "move_appointment",
    "place_patch_test",
    "raise_alert",
    "record_consent",
    "record_override",
    "record_patch_test_reading",
    "register_client",
    "start_service",
    "undo_check_in",
]
