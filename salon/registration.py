"""The ground floor's entries: its places in the bar, what its records and events are called."""

import datetime as dt

from django.utils.translation import gettext_lazy as _
from django.utils.translation import gettext_noop

from salon import registry
from salon.access import OWNER
from salon.files import tidying
from salon.mailing import letters, trial
from salon.reset_by_mail import letter
from salon.work import lanes, nightly, timetable

registry.add_places(
    registry.Place(70, _("Salon"), "salon:house", OWNER),
)

registry.add_salon_pages(
    registry.Place(0, _("Tablets where people switch by PIN"), "salon:devices", OWNER),
    registry.Place(48, _("Mail and background work"), "salon:work", OWNER),
    registry.Place(49, _("Files being prepared"), "salon:files", OWNER),
    registry.Place(50, _("Record of changes"), "salon:record_of_changes", OWNER),
)

letters.add_kind("test", letters.Kind(trial.write))
letters.add_kind("reset", letters.Kind(letter.write))

timetable.add(
    timetable.Job(
        "backup",
        _("Back up"),
        nightly.back_up,
        at=dt.time(3, 20),
        lane=lanes.LONG,
        is_on=nightly.has_folder,
    ),
    timetable.Job(
        "tidy_files",
        _("Delete prepared files whose day is over"),
        tidying.tidy,
        every=dt.timedelta(minutes=10),
    ),
    timetable.Job("tidy", _("Delete what served its turn"), nightly.tidy, at=dt.time(4)),
)

registry.name_records(
    {
        "salon.salon": gettext_noop("salon"),
        "salon.auditevent": gettext_noop("change"),
        "salon.letter": gettext_noop("mail"),
        "salon.keyseen": gettext_noop("key in use"),
        "salon.preparedfile": gettext_noop("prepared file"),
        "salon.workrun": gettext_noop("background run"),
        "salon.linkedaccount": gettext_noop("linked account"),
        "salon.salonlogo": gettext_noop("logo"),
        "salon.device": gettext_noop("tablet"),
        "salon.policy": gettext_noop("rules"),
        "salon.staff": gettext_noop("member of staff"),
        "salon.recoverycode": gettext_noop("recovery code"),
        "salon.secondfactor": gettext_noop("second factor"),
        "salon.passkey": gettext_noop("passkey"),
        "salon.staffpin": gettext_noop("PIN"),
        "salon.staffsession": gettext_noop("session"),
        "salon.submission": gettext_noop("form sent"),
        "salon.timetableentry": gettext_noop("job of the timetable"),
        "salon.workerlease": gettext_noop("background worker"),
    }
)

# Events keep their kind as an English code; the page says it in the reader's language.
registry.name_events(
    gettext_noop("PIN refused"),
    gettext_noop("PIN removed"),
    gettext_noop("PIN set"),
    gettext_noop("accounts linked"),
    gettext_noop("accounts unlinked"),
    gettext_noop("device enrolled"),
    gettext_noop("file fetched"),
    gettext_noop("language chosen"),
    gettext_noop("logo changed"),
    gettext_noop("logo removed"),
    gettext_noop("member added"),
    gettext_noop("member changed"),
    gettext_noop("passkey added"),
    gettext_noop("passkey refused"),
    gettext_noop("passkey removed"),
    gettext_noop("passkey renamed"),
    gettext_noop("password changed"),
    gettext_noop("password reset by mail"),
    gettext_noop("reset link mailed"),
    gettext_noop("recovery code used"),
    gettext_noop("recovery codes made"),
    gettext_noop("salon changed"),
    gettext_noop("salon changed from"),
    gettext_noop("salon changed to"),
    gettext_noop("salon language chosen"),
    gettext_noop("screen checked"),
    gettext_noop("second factor removed"),
    gettext_noop("second factor set"),
    gettext_noop("session ended"),
    gettext_noop("sign-in refused"),
    gettext_noop("signed in"),
    gettext_noop("switched by PIN"),
    gettext_noop("test mail asked for"),
)

# Codes that records keep, and that are no words of the salon.
registry.word_events(
    {
        "PIN switched off": gettext_noop("PIN blocked"),
        "PIN switched on": gettext_noop("PIN allowed again"),
        "device revoked": gettext_noop("device blocked"),
        "first step declined": gettext_noop("first step not needed"),
        "first steps put away": gettext_noop("first steps hidden"),
        "password reset": gettext_noop("one-time password made"),
        "policy revised": gettext_noop("rules changed"),
        "salon founded": gettext_noop("salon created"),
    }
)
