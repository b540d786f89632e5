"""Writes of the level chart: an entry is replaced by a new row, the earlier one stays."""

import datetime as dt
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from formulas import engine_inputs, policies, refusals, selectors
from formulas.models import ChartEntry, Standing
from salon import audit
from salon.models import Staff
from salon.refusals import Refused


class ChartRefused(Refused):
    """Raised when a colour does not fit the chart; says why."""


@transaction.atomic
def replace_chart_entry(*, by: Staff, at: dt.datetime, **fields: Any) -> ChartEntry:
    """Put one colour of the salon's own into the chart, if the chart then still makes sense."""
    policies.check_can_change_chart(by=by)
    entry = ChartEntry(salon=by.salon, recorded_by=by, recorded_at=at, **fields)
    entry.full_clean()
    entry.save()
    try:
        engine_inputs.chart_from(selectors.chart_entries(salon_id=by.salon_id))
    except ValueError as error:
        why = refusals.in_words(error)
        raise ChartRefused(_("This colour does not fit the chart. %(why)s"), why=why) from error
    audit.record_event("chart entry replaced", target=entry, by=by, at=at)
    return entry


def restore_chart_entry(*, level: Decimal, kind: str, by: Staff, at: dt.datetime) -> ChartEntry:
    """Put the model's own colour back into the chart, as a row like any other."""
    lightness, green_red, blue_yellow = engine_inputs.default_colour(level=level, kind=kind)
    return replace_chart_entry(
        by=by,
        at=at,
        level=level,
        kind=kind,
        standing=Standing.ASSUMED,
        lightness=lightness,
        green_red=green_red,
        blue_yellow=blue_yellow,
    )
