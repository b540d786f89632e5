"""Colours of hair as read, for the strands that a reading is compared with."""

from collections.abc import Mapping
from functools import lru_cache
from typing import Any

import numpy as np
from django.utils.translation import gettext as _

from consult.agreement.statement import half_level
from consult.models import ZoneReading
from consult.zones import Zone
from formulas.engine import Chart
from formulas.engine import Zone as Hair
from formulas.engine.light.colorimetry import lab_to_hex, reflectance_to_lab
from formulas.engine.light.kubelka_munk import to_reflectance

LEVELS = [n / 2 for n in range(2, 21)]
UNDERTONES = [-1.0, -0.5, 0.0, 0.5, 1.0]


@lru_cache(maxsize=8)
def undertone_strands(chart: Chart) -> dict[str, Any]:
    """Return, for each level in half steps, the colours from more orange to more golden."""
    ks = np.stack(
        [chart.warmth_ks(level, undertone) for level in LEVELS for undertone in UNDERTONES]
    )
    labs = reflectance_to_lab(to_reflectance(ks)).reshape(len(LEVELS), len(UNDERTONES), 3)
    return {
        "undertones": UNDERTONES,
        "levels": {
            f"{level:.1f}": [lab_to_hex(lab) for lab in row]
            for level, row in zip(LEVELS, labs, strict=True)
        },
    }


def zone_strands(chart: Chart, readings: Mapping[str, ZoneReading]) -> list[dict[str, Any]]:
    """Return the zones as the head is drawn: colour and level of each that was read."""
    drawn = []
    for zone in Zone.values:
        row = readings.get(zone)
        if row is None:
            drawn.append({"zone": zone, "hex": "", "note": ""})
            continue
        hair = Hair(
            lifted_level=float(row.lifted_level),
            undertone=float(row.undertone),
            white_percent=float(row.white_percent),
        )
        lab = reflectance_to_lab(to_reflectance(hair.hair_ks(chart)))
        note = _("level %(level)s") % {"level": half_level(float(row.lifted_level))}
        drawn.append({"zone": zone, "hex": lab_to_hex(lab), "note": note})
    return drawn
