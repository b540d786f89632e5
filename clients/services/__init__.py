"""Every write of the front desk."""

from clients.services.booking_rules import ClientElsewhere
from clients.services.calls import record_call
from clients.services.changing import (
    MARKS,
    change_appointment,
    mark_appointment,
    restore_appointment,
)
from clients.services.claims import BookingRefused
from clients.services.consents import record_consent
from clients.services.desk_draft import drop_draft, keep_draft
from clients.services.desk_policy import change_desk_policy
from clients.services.diary import (
    AlreadyChecked,
    StaleAppointment,
    book_appointment,
    book_series,
    cancel_appointment,
    confirm_appointment,
    move_appointment,
)
from clients.services.feeds import close_feeds, open_feed
from clients.services.gatekeeping import (
    CheckInRefused,
    OverrideRefused,
    check_in,
    finish_service,
    record_override,
    start_service,
    undo_check_in,
)
from clients.services.hair_history import add_hair_history, withdraw_hair_history
from clients.services.health_consent import HealthConsentWithdrawn
from clients.services.hours import (
    add_absence,
    close_days,
    close_yearly,
    enter_yearly,
    open_day,
    remove_absence,
    set_hours,
    set_week,
)
from clients.services.import_values import ValueAlreadyChanged, correct_values, remove_alike
from clients.services.importing import (
    DateOrderUnclear,
    ImportRefused,
    discard_import,
    load_import,
    record_export,
    record_list_export,
    reread_import,
    start_import,
    stop_import,
    take_in_piece,
    undo_import,
    undo_piece,
)
from clients.services.offer import (
    OfferRefused,
    add_chair,
    add_service,
    change_chair,
    change_service,
)
from clients.services.opt_out import stop_reminders
from clients.services.patch_tests import (
    PlacingRefused,
    ReadingRefused,
    place_patch_test,
    record_patch_test_reading,
)
from clients.services.patch_visits import book_with_test
from clients.services.persons import (
    MergeRefused,
    confirm_same_body,
    join_household,
    leave_household,
    merge_clients,
    needs_second_person,
    record_not_the_same,
    undo_merge,
    undone_check_ins,
)
from clients.services.photos import (
    SEATED,
    PhotoRefused,
    delete_withdrawn_photos,
    remove_photo,
    take_photo,
)
from clients.services.privacy import (
    PrivacyRefused,
    erase_client,
    lift_restriction,
    request_erasure,
    restrict_client,
    stop_erasure,
)
from clients.services.record_access import note_access
from clients.services.register import (
    AlertStays,
    BirthDateStays,
    StaleClient,
    answer_safety_questions,
    change_client,
    raise_alert,
    register_client,
    remove_alert,
)
from clients.services.reminders import (
    NotWaitingToBeSent,
    change_template,
    queue_reminders,
    send_reminders,
    settle_reminder,
)
from clients.services.retention import (
    RETENTION,
    replay_erasures,
    run_retention,
)
from clients.services.waiting import NotWaiting, add_waiting, close_waiting
from clients.vouching import NeedsSecondPerson

__all__ = [
    "MARKS",
    "RETENTION",
    "SEATED",
    "AlertStays",
    "AlreadyChecked",
    "BirthDateStays",
    "BookingRefused",
    "CheckInRefused",
    "ClientElsewhere",
    "DateOrderUnclear",
    "HealthConsentWithdrawn",
    "ImportRefused",
    "MergeRefused",
    "NeedsSecondPerson",
    "NotWaiting",
    "NotWaitingToBeSent",
    "OfferRefused",
    "OverrideRefused",
    "PhotoRefused",
    "PlacingRefused",
    "PrivacyRefused",
    "ReadingRefused",
    "StaleAppointment",
    "StaleClient",
    "ValueAlreadyChanged",
    "add_absence",
    "add_chair",
    "add_hair_history",
    "add_service",
    "add_waiting",
    "answer_safety_questions",
    "book_appointment",
    "book_series",
    "book_with_test",
    "cancel_appointment",
    "change_appointment",
    "change_chair",
    "change_client",
    "change_desk_policy",
    "change_service",
    "change_template",
    "check_in",
    "close_days",
    "close_feeds",
    "close_waiting",
    "close_yearly",
    "confirm_appointment",
    "confirm_same_body",
    "correct_values",
    "delete_withdrawn_photos",
    "discard_import",
    "drop_draft",
    "enter_yearly",
    "erase_client",
    "finish_service",
    "join_household",
    "keep_draft",
    "leave_household",
    "lift_restriction",
    "load_import",
    "mark_appointment",
    "merge_clients",
    "move_appointment",
    "needs_second_person",
    "note_access",
    "open_day",
    "open_feed",
    "place_patch_test",
    "queue_reminders",
    "raise_alert",
    "record_call",
    "record_consent",
    "record_export",
    "record_list_export",
    "record_not_the_same",
    "record_override",
    "record_patch_test_reading",
    "register_client",
    "remove_absence",
    "remove_alert",
    "remove_alike",
    "remove_photo",
    "replay_erasures",
    "request_erasure",
    "reread_import",
    "restore_appointment",
    "restrict_client",
    "run_retention",
    "send_reminders",
    "set_hours",
    "set_week",
    "settle_reminder",
    "start_import",
    "start_service",
    "stop_erasure",
    "stop_import",
    "stop_reminders",
    "take_in_piece",
    "take_photo",
    "undo_check_in",
    "undo_import",
    "undo_merge",
    "undo_piece",
    "undone_check_ins",
    "withdraw_hair_history",
]
