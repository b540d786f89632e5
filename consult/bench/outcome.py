"""What a bowl should have given on a part of the hair: as poured, for its real minutes."""

import datetime as dt

from consult import selectors, zones
from consult.agreement import planning
from consult.models import Visit
from consult.visit.bowls import TonedGroup
from formulas.snapshots import Prediction


def predicted_on(visit: Visit, group: TonedGroup, *, at: dt.datetime) -> Prediction | None:
    """Return the prediction that a result is compared with: grams poured, minutes taken.

    Where it cannot be worked out any more, the formula's own, else the signed one, if any.
    """
    bowl = group.bowls[-1].bowl
    zone = zones.Group(group.zones).last
    try:
        reading = planning.inputs(visit, selectors.readings_in_force(visit), at=at)[zone]
        return planning.predict_by_name(
            visit,
            reading,
            {line.shade.name: float(line.poured_grams) for line in bowl.lines.all()},
            minutes=minutes_on(bowl.minutes_on(zone), bowl.formula.processing_minutes),
        )
    except (KeyError, planning.NothingToMix):
        signed: Prediction | None = group.place.predicted if group.place else None
        return group.formula.predicted.get(group.zones) or signed


def minutes_on(taken: int | None, planned: int) -> int:
    """Return the minutes that count: those taken, at least one; the planned where unknown."""
    return min(max(planned if taken is None else taken, 1), 90)
