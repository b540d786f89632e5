"""Reads of the front desk; everything a page needs is fetched here, never in a template."""

from clients.diary.opening import day_bounds
from clients.selectors.absences import absences_added_with, away_on, has_bookings
from clients.selectors.booking_day import booking_day
from clients.selectors.call_list import call_list, due_before
from clients.selectors.care import (
    consent_lines,
    hair_history,
    household_of,
    merges_in_force,
)
from clients.selectors.clients import (
    alerts_in_force,
    alerts_of,
    client_states,
    consents_in_force,
    find_clients,
    last_visit,
    no_shows,
    safety_answers_in_force,
    safety_answers_with_previous,
    safety_history,
    upcoming,
)
from clients.selectors.desk import (
    all_chairs,
    all_services,
    chairs_in_use,
    desk_policy,
    lines_in_use,
    may_see_medical,
    services_offered,
    today,
)
from clients.selectors.desk_draft import typed_before
from clients.selectors.diary import (
    absences_between,
    change_stamp,
    coming_absences,
    coming_closed_days,
    day_appointments,
    off_appointments,
    open_business,
    states_of,
    todays_clients,
    waiting_for,
    waiting_list,
    week_appointments,
)
from clients.selectors.displaced import count_open, displaced
from clients.selectors.patch_tests import (
    latest_reading,
    patch_history,
    patch_worklist,
    recent_batches,
)
from clients.selectors.patch_visits import patch_visits
from clients.selectors.photos import (
    may_be_shown,
    photo_consent,
    photos_left,
    photos_of,
    sittings,
    stored_photos,
    withdrawn_with_photos,
)
from clients.selectors.timeline import client_timeline

__all__ = [
    "absences_added_with",
    "absences_between",
    "alerts_in_force",
    "alerts_of",
    "all_chairs",
    "all_services",
    "away_on",
    "booking_day",
    "call_list",
    "chairs_in_use",
    "change_stamp",
    "client_states",
    "client_timeline",
    "coming_absences",
    "coming_closed_days",
    "consent_lines",
    "consents_in_force",
    "count_open",
    "day_appointments",
    "day_bounds",
    "desk_policy",
    "displaced",
    "due_before",
    "find_clients",
    "hair_history",
    "has_bookings",
    "household_of",
    "last_visit",
    "latest_reading",
    "lines_in_use",
    "may_be_shown",
    "may_see_medical",
    "merges_in_force",
    "no_shows",
    "off_appointments",
    "open_business",
    "patch_history",
    "patch_visits",
    "patch_worklist",
    "photo_consent",
    "photos_left",
    "photos_of",
    "recent_batches",
    "safety_answers_in_force",
    "safety_answers_with_previous",
    "safety_history",
    "services_offered",
    "sittings",
    "states_of",
    "stored_photos",
    "today",
    "todays_clients",
    "typed_before",
    "upcoming",
    "waiting_for",
    "waiting_list",
    "week_appointments",
    "withdrawn_with_photos",
]
