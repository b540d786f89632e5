"""What a bowl should have given on a part of the hair: as poured, for its real minutes."""

import datetime as dt

from consult import selectors, zones
from consult.agreement import planning
from consult.models import Visit
from consult.visit.bowls import TonedGroup, minutes_counted
from formulas.snapshots import Prediction


def predicted_on(visit: Visit, group: TonedGroup, *, at: dt.datetime) -> Prediction:
    """Return the prediction that a result is compared with: grams poured, minutes taken.

    Where it cannot be worked out any more, the formula's own, else the signed one.
    """
    bowl = group.bowls[-1].bowl
    zone = zones.Group(group.zones).last
    try:
        reading = planning.inputs(visit, selectors.readings_in_force(visit), at=at)[zone]
        return planning.predict_by_name(
            visit,
            reading,
            {line.shade.name: float(line.poured_grams) for line in bowl.lines.all()},
            minutes=minutes_counted(
                bowl.minutes_on(zone), planned=bowl.formula.processing_minutes
            ),
        )
    except (KeyError, planning.NothingToMix):
        decided: Prediction | None = group.formula.predicted.get(group.zones)
        signed: Prediction = group.place.predicted
        return decided or signed
