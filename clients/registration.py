"""The front desk's entries: its places in the bar, what its records and events are called."""

from django.utils.translation import gettext_lazy as _
from django.utils.translation import gettext_noop

from clients import jobs, prepared_files
from clients.privacy import desk_holdings, holdings
from clients.selectors import reminders
from salon import doctor, registry
from salon.access import DESK, OWNER
from salon.mailing import status as mailing
from salon.models.staff import Role
from salon.work import timetable

registry.add_places(
    registry.Place(10, _("Diary"), "clients:day", DESK),
    registry.Place(20, _("Clients"), "clients:find", DESK),
    registry.Place(30, _("Patch tests"), "clients:patch_worklist", DESK),
)

registry.add_salon_pages(
    registry.Place(5, _("Logo"), "clients:change_logo", OWNER),
    registry.Place(20, _("Services and chairs"), "clients:offer", OWNER),
    registry.Place(30, _("Hours, breaks, days off"), "clients:hours", OWNER),
    registry.Place(46, _("Consents"), "clients:consent_register", OWNER),
    registry.Place(47, _("How long records are kept"), "clients:retention", OWNER),
    registry.Place(45, _("Who looked at clients’ records"), "clients:who_looked", OWNER),
)
timetable.add(*jobs.JOBS)
mailing.add_queue(reminders.mail_queue)
prepared_files.register()
holdings.add(evidence=desk_holdings.evidence, blank=desk_holdings.blank)
registry.start_at({Role.RECEPTIONIST: "clients:day"})
registry.put_in_bar("clients/_find_anywhere.html")
registry.lead_leavers_to("clients:leaving")

registry.name_records(
    {
        "clients.household": gettext_noop("household"),
        "clients.client": gettext_noop("client"),
        "clients.clientalert": gettext_noop("alert"),
        "clients.chair": gettext_noop("chair"),
        "clients.service": gettext_noop("service"),
        "clients.slotclaim": gettext_noop("booked time"),
        "clients.appointment": gettext_noop("appointment"),
        "clients.appointmentevent": gettext_noop("change of an appointment"),
        "clients.clientcall": gettext_noop("call to a client"),
        "clients.valuetocorrect": gettext_noop("value to correct"),
        "clients.clientimport": gettext_noop("imported list"),
        "clients.birthdatechange": gettext_noop("change of a birth date"),
        "clients.clientkey": gettext_noop("key of a client"),
        "clients.erasure": gettext_noop("erasure"),
        "clients.restriction": gettext_noop("restriction"),
        "clients.retentionrun": gettext_noop("run of the retention rules"),
        "clients.consent": gettext_noop("consent"),
        "clients.deskdraft": gettext_noop("draft"),
        "clients.deskpolicy": gettext_noop("desk settings"),
        "clients.calendarfeed": gettext_noop("calendar address"),
        "clients.hairhistoryentry": gettext_noop("hair history"),
        "clients.openinghours": gettext_noop("opening hours"),
        "clients.closedday": gettext_noop("closed day"),
        "clients.absence": gettext_noop("absence"),
        "clients.clientmerge": gettext_noop("merge"),
        "clients.possibleduplicate": gettext_noop("possible duplicate"),
        "clients.notthesame": gettext_noop("not the same person"),
        "clients.patchtest": gettext_noop("patch test"),
        "clients.patchtestreading": gettext_noop("patch test reading"),
        "clients.patchoverride": gettext_noop("override"),
        "clients.photo": gettext_noop("photo"),
        "clients.photoremoval": gettext_noop("photo deleted"),
        "clients.receivedrecord": gettext_noop("copy of a record from another salon"),
        "clients.recordmove": gettext_noop("copy of a record for another salon"),
        "clients.recordaccess": gettext_noop("look at a record"),
        "clients.remindertemplate": gettext_noop("text of a reminder"),
        "clients.reminder": gettext_noop("reminder"),
        "clients.safetyanswer": gettext_noop("safety answer"),
        "clients.searchkey": gettext_noop("search entry"),
        "clients.searchvariant": gettext_noop("search entry"),
        "clients.waitingentry": gettext_noop("waiting list"),
    }
)

# Events keep their kind as an English code; the page says it in the reader's language.
registry.name_events(
    gettext_noop("absence added"),
    gettext_noop("absence removed"),
    gettext_noop("appointment booked"),
    gettext_noop("appointment cancelled"),
    gettext_noop("appointment changed"),
    gettext_noop("appointment confirmed"),
    gettext_noop("appointment done"),
    gettext_noop("appointment ended"),
    gettext_noop("appointment marked"),
    gettext_noop("appointment moved"),
    gettext_noop("calendar closed"),
    gettext_noop("calendar opened"),
    gettext_noop("call recorded"),
    gettext_noop("chair added"),
    gettext_noop("chair changed"),
    gettext_noop("client changed"),
    gettext_noop("clients exported"),
    gettext_noop("clients merged"),
    gettext_noop("consent recorded"),
    gettext_noop("day closed"),
    gettext_noop("day opened"),
    gettext_noop("yearly holidays chosen"),
    gettext_noop("erasure requested"),
    gettext_noop("erasure done"),
    gettext_noop("erasure ended"),
    gettext_noop("erasure stopped"),
    gettext_noop("hair history added"),
    gettext_noop("list exported"),
    gettext_noop("import discarded"),
    gettext_noop("import done"),
    gettext_noop("import loaded"),
    gettext_noop("import started"),
    gettext_noop("import stopped"),
    gettext_noop("import undone"),
    gettext_noop("imported value removed"),
    gettext_noop("imported values removed"),
    gettext_noop("merge confirmed"),
    gettext_noop("merge undone"),
    gettext_noop("patch test placed"),
    gettext_noop("patch test read"),
    gettext_noop("photo removed"),
    gettext_noop("photo taken"),
    gettext_noop("record opened again"),
    gettext_noop("record shut"),
    gettext_noop("recovery sheet printed"),
    gettext_noop("retention run"),
    gettext_noop("service added"),
    gettext_noop("service changed"),
)

# Codes that records keep, and that are no words of the salon.
registry.word_events(
    {
        "alert lifted": gettext_noop("alert removed"),
        "alert raised": gettext_noop("alert added"),
        "appointment checked_in": gettext_noop("client checked in"),
        "appointment in_service": gettext_noop("appointment started"),
        "appointment no_show": gettext_noop("no-show"),
        "appointment restored": gettext_noop("appointment booked again"),
        "client registered": gettext_noop("client added"),
        "desk policy changed": gettext_noop("desk settings changed"),
        "hair history withdrawn": gettext_noop("hair history removed"),
        "hours set": gettext_noop("opening hours set"),
        "household joined": gettext_noop("added to a household"),
        "household left": gettext_noop("removed from a household"),
        "import being undone": gettext_noop("undoing an import"),
        "import read again": gettext_noop("import read with other characters"),
        "not the same": gettext_noop("marked as different people"),
        "patch test overridden": gettext_noop("override of a patch test"),
        "copy deleted there": gettext_noop("the other salon deleted its copy of a record"),
        "received photos deleted": gettext_noop("photos of a copy deleted"),
        "received record deleted": gettext_noop("copy from another salon deleted"),
        "record given": gettext_noop("copy of a record given to another salon"),
        "record move signed": gettext_noop("copy of a record agreed for another salon"),
        "record move ended": gettext_noop("copy for another salon ended by an erasure"),
        "record move refused": gettext_noop("copy of a record declined"),
        "record move withdrawn": gettext_noop("consent to a copy of a record withdrawn"),
        "record put back": gettext_noop("copy of a record removed from the wrong client"),
        "record received": gettext_noop("copy of a record received from another salon"),
        "reminder settled": gettext_noop("reminder dealt with"),
        "reminder words changed": gettext_noop("texts of reminders changed"),
        "reminders queued": gettext_noop("reminders waiting to be sent"),
        "safety answered": gettext_noop("safety questions answered"),
        "waiting added": gettext_noop("added to the waiting list"),
        "waiting booked": gettext_noop("booked from the waiting list"),
        "waiting offered": gettext_noop("offered to the waiting list"),
        "waiting withdrawn": gettext_noop("removed from the waiting list"),
    }
)

doctor.SUBJECTS |= {
    "clients.E001": "Guards",
    "clients.E002": "Keys",
    "clients.E003": "Erasures",
    "clients.W001": "Keys",
}
