"""What goes before the toner on some visits: lightening, a bond treatment, tests."""

import datetime as dt
from decimal import Decimal

from consult.models import PreTestKind, PreTestResult, StepKind, Visit
from consult.services.preparation import record_pre_test, record_step
from salon.models import Staff

_ALL = "roots,mid_lengths,ends"


def prepare(
    visit: Visit, lifted: Decimal, *, by: Staff, start: dt.datetime, end: dt.datetime
) -> None:
    """Lighten the regrowth, treat all of it, and test a strand."""
    record_step(
        visit=visit,
        kind=StepKind.LIGHTENING,
        product="Dust-free lightening powder",
        zones="roots",
        developer_percent=Decimal(6),
        developer_ratio=Decimal(2),
        minutes=40,
        level_reached=lifted,
        started_at=start,
        by=by,
        at=end,
    )
    record_step(
        visit=visit,
        kind=StepKind.BOND,
        product="Bond-building cream",
        zones=_ALL,
        minutes=10,
        uses_heat=True,
        heat_note="warm towel",
        by=by,
        at=end,
    )
    for kind, result, zone in (
        (PreTestKind.ELASTICITY, PreTestResult.SPRINGS_BACK, "ends"),
        (PreTestKind.STRAND, PreTestResult.AS_PREDICTED, ""),
    ):
        record_pre_test(visit=visit, kind=kind, result=result, zone=zone, by=by, at=end)
