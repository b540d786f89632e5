"""The formulary's entries: its places in the bar, what its records and events are called."""

from django.utils.translation import gettext_lazy as _
from django.utils.translation import gettext_noop

from salon import registry
from salon.access import BENCH

registry.add_places(
    registry.Place(50, _("Lines"), "formulas:lines", BENCH),
    registry.Place(60, _("How it is calculated"), "formulas:explanation", BENCH),
)

registry.check_screens_at("formulas:screen_check")

registry.name_records(
    {
        "formulas.chartentry": gettext_noop("chart entry"),
        "formulas.mixingrules": gettext_noop("amounts"),
        "formulas.practicerules": gettext_noop("practice"),
        "formulas.productline": gettext_noop("product line"),
        "formulas.shade": gettext_noop("shade"),
        "formulas.shelfbalance": gettext_noop("stock of a shade"),
        "formulas.stockmovement": gettext_noop("stock movement"),
        "formulas.strengthrevision": gettext_noop("learned strengths"),
    }
)

# Events keep their kind as an English code; the page says it in the reader's language.
registry.name_events(
    gettext_noop("chart entry replaced"),
    gettext_noop("line added"),
    gettext_noop("line changed"),
    gettext_noop("line composition changed"),
    gettext_noop("shade added"),
    gettext_noop("shade changed"),
)

# Codes that records keep, and that are no words of the salon.
registry.word_events(
    {
        "invented line answered": gettext_noop("question about an invented line answered"),
        "mixing rules revised": gettext_noop("amounts changed"),
        "practice revised": gettext_noop("practice changed"),
        "stock moved": gettext_noop("stock changed"),
        "strengths accepted": gettext_noop("learned strengths put to use"),
        "strengths taken back": gettext_noop("learned strengths undone"),
    }
)
