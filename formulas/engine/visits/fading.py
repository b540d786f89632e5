"""How hair reads at a later visit, on the scale of how it was read before its toning."""

import numpy as np

from formulas.engine.hair.appearance import Judge
from formulas.engine.hair.chart import Chart
from formulas.engine.light.colorimetry import reflectance_to_lab
from formulas.engine.light.kubelka_munk import to_reflectance
from formulas.engine.toner.zone import Zone


def read_again(now: Zone, *, then: Zone, chart: Chart) -> tuple[float, float] | None:
    """Return the depth and the warmth left of hair as it is read now.

    None where the hair showed too little warmth for percentages of it to say anything.

    Parameters
    ----------
    now, then : Zone
        The same hair as read today and before the toning whose fading is asked about; only
        lifted level, undertone and white hair count.
    chart : Chart

    Returns
    -------
    level : float
        The level of natural hair as dark. [level]
    warmth_left_percent : float
        Of the warmth that the hair showed before that toning: 100 where it reads as it did
        then, more where it reads warmer. [%]
    """
    warm = to_reflectance(chart.warmth_ks(then.lifted_level, then.undertone))
    seen = [then.reflectance(chart), warm, now.reflectance(chart)]
    start, warm_lab, lab = reflectance_to_lab(np.stack(seen))
    judge = Judge(start, warm_lab, chart)
    if judge.has_little_warmth:
        return None
    return float(judge.level(lab)), float(judge.warmth_left_percent(lab))
