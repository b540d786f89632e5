"""What is left in a bowl: asked once, for the cost of a visit; nothing waits for it."""

import datetime as dt
from decimal import Decimal

from django.db import transaction
from django.utils.formats import number_format
from django.utils.translation import gettext as _

from consult import policies
from consult.models import BowlLeftover, BowlMixed, MarkKind
from salon import audit
from salon.models import Staff
from salon.refusals import Refused


class LeftoverRefused(Refused):
    """Raised when more would be left than was mixed, or the bowl is not on the hair yet."""


@transaction.atomic
def weigh_leftover(
    *, bowl: BowlMixed, grams: Decimal, by: Staff, at: dt.datetime
) -> BowlLeftover:
    """Record what is left in a bowl; another weight corrects the one before."""
    policies.check_can_work_on(by=by, visit=bowl.visit)
    if not bowl.marks.filter(kind=MarkKind.START).exists():
        raise LeftoverRefused(
            _("Put the bowl on the hair first, then weigh what is left."), code="not_on_yet"
        )
    mixed = bowl.total_grams
    if grams > mixed:
        raise LeftoverRefused(
            _("Only %(grams)s g were mixed. Subtract the weight of the bowl itself."),
            code="more_than_mixed",
            grams=number_format(mixed, 1),
        )
    known = bowl.leftovers.last()
    if known and known.grams == grams:
        return known
    row = BowlLeftover(bowl=bowl, grams=grams, replaces=known, weighed_at=at, weighed_by=by)
    row.full_clean()
    row.save()
    audit.record_event("leftover weighed", target=bowl, by=by, at=at)
    return row
