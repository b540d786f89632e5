"""What goes before the toner on some visits, and the owner's own words of the sign-off."""

import datetime as dt
from decimal import Decimal

from consult.demo.house import House
from consult.models import PreTestKind, PreTestResult, StepKind, Visit
from consult.services.preparation import record_pre_test, record_step
from consult.services.wording import revise_wording
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


def reword(built: House) -> None:
    """Put the owner's own words in force, some days ago."""
    revise_wording(
        language="en-gb",
        statement=(
            "{zones}: {lifted_words}. {warmth_words} In the mirror it will look "
            "about {deeper} levels deeper than today, somewhere from {deeper_low} to "
            "{deeper_high}; dry, about as dark as natural hair of level {level}. At the basin, "
            "damp, it looks {damp} levels deeper still."
        ),
        understandings=(
            "Cooler always looks deeper: a toner cannot be cooler and as light as before.\n"
            "The numbers are predictions with a range; a strand test on my own hair decides.\n"
            "Toner fades with washing, and the warmth comes back with it.\n"
            "My answers to today's safety questions are true, and I say at once if anything "
            "burns or itches. A clear skin test lowers the risk and does not rule it out."
        ),
        by=built.owner,
        at=built.now - dt.timedelta(days=9),
    )
