"""The consultation's entries: its places in the bar, what its records and events are called."""

from django.utils.translation import gettext_lazy as _
from django.utils.translation import gettext_noop

from clients.privacy import holdings as privacy
from consult import jobs, prepared_files, results_files
from consult.agreement import anchor_mail
from consult.paper import card_letter
from consult.portability import holdings
from consult.services import card_mail
from salon import registry
from salon.access import BENCH, OWNER
from salon.mailing import letters
from salon.models.staff import Role
from salon.work import timetable

registry.add_places(
    registry.Place(0, _("Today"), "consult:today", BENCH),
    registry.Place(40, _("Results"), "consult:histories", OWNER),
)

registry.add_salon_pages(
    registry.Place(10, _("What clients sign"), "consult:wording", OWNER),
    registry.Place(15, _("Evidence of what was signed"), "consult:evidence", OWNER),
    registry.Place(40, _("First steps"), "consult:first_steps", OWNER),
)
timetable.add(*jobs.JOBS)
letters.add_kind(card_mail.LETTER, letters.Kind(card_letter.write, card_mail.note_end))
letters.add_kind(anchor_mail.LETTER, letters.Kind(anchor_mail.write, anchor_mail.note_end))
prepared_files.register()
results_files.register()
privacy.add(evidence=holdings.evidence, blank=holdings.blank)
registry.start_at({Role.STYLIST: "consult:today", Role.OWNER: "consult:start_day"})

registry.name_records(
    {
        "consult.anchor": gettext_noop("anchor of the sign-offs"),
        "consult.visit": gettext_noop("visit"),
        "consult.visitevent": gettext_noop("change of a visit"),
        "consult.visitfigures": gettext_noop("figures of a visit"),
        "consult.statementwording": gettext_noop("what clients sign"),
        "consult.choice": gettext_noop("choice"),
        "consult.chosenplace": gettext_noop("chosen place"),
        "consult.signoff": gettext_noop("sign-off"),
        "consult.formula": gettext_noop("formula"),
        "consult.formulaline": gettext_noop("shade of a formula"),
        "consult.bowlmixed": gettext_noop("bowl"),
        "consult.bowlline": gettext_noop("weighing"),
        "consult.bowlleftover": gettext_noop("rest of a bowl"),
        "consult.processingmark": gettext_noop("processing time"),
        "consult.rinsereason": gettext_noop("reason for an early rinse"),
        "consult.rinseundone": gettext_noop("rinse undone"),
        "consult.processingcheck": gettext_noop("check during processing"),
        "consult.cardprinted": gettext_noop("printed card"),
        "consult.cardmail": gettext_noop("mailed card"),
        "consult.draft": gettext_noop("draft"),
        "consult.presence": gettext_noop("person at a visit"),
        "consult.zonereading": gettext_noop("zone"),
        "consult.hairfacts": gettext_noop("hair"),
        "consult.pretest": gettext_noop("test on the hair"),
        "consult.reaction": gettext_noop("reaction to colour"),
        "consult.resultseen": gettext_noop("result"),
        "consult.visitstep": gettext_noop("step of a visit"),
    }
)

# Events keep their kind as an English code; the page says it in the reader's language.
registry.name_events(
    gettext_noop("bowl mixed"),
    gettext_noop("card printed"),
    gettext_noop("choice signed"),
    gettext_noop("client data exported"),
    gettext_noop("formula decided"),
    gettext_noop("hair read"),
    gettext_noop("place chosen"),
    gettext_noop("pre-test recorded"),
    gettext_noop("processing started"),
    gettext_noop("reaction described"),
    gettext_noop("reaction pressed by mistake"),
    gettext_noop("result seen"),
    gettext_noop("results exported"),
    gettext_noop("rinse undone"),
    gettext_noop("rinsed"),
    gettext_noop("sign-offs anchored"),
    gettext_noop("step corrected"),
    gettext_noop("step recorded"),
    gettext_noop("visit closed"),
    gettext_noop("visit opened"),
)

# Codes that records keep, and that are no words of the salon.
registry.word_events(
    {
        "bowl looked at": gettext_noop("bowl checked"),
        "anchor mailed": gettext_noop("anchor sent by e-mail"),
        "card mail asked for": gettext_noop("card to be sent by e-mail"),
        "card mail settled": gettext_noop("card e-mail dealt with"),
        "card mailed": gettext_noop("card sent by e-mail"),
        "colour reacted": gettext_noop("reaction to colour"),
        "early rinse explained": gettext_noop("reason given for an early rinse"),
        "leftover weighed": gettext_noop("rest of a bowl weighed"),
        "patch slip printed": gettext_noop("patch-test slip printed"),
        "sign-off linked": gettext_noop("sign-off saved"),
        "step taken back": gettext_noop("step removed"),
        "visit stopped": gettext_noop("visit ended without colour"),
        "wording revised": gettext_noop("text to sign changed"),
    }
)
