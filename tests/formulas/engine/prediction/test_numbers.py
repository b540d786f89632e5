"""What is computed for many at once is what it is for each alone."""

from dataclasses import fields

import numpy as np
import pytest

from formulas import engine
from formulas.engine.light.colorimetry import reflectance_to_lab
from formulas.engine.prediction.doubts import Case, Doubts, doubtful_pairs
from formulas.engine.prediction.numbers import Numbers, Setting, judge_of, numbers, used_shades
from formulas.engine.prediction.ranged import Ranged
from tests.formulas.engine.lines_for_tests import LINE

LEFT = engine.Residual(LINE, {"9 violet": 1}, washes=3)
ZONES = [
    engine.Zone(7.5),
    engine.Zone(10.0, undertone=0.4, white_percent=100.0),  # its level can be moved down alone
    engine.Zone(5.2, undertone=-1.0, white_percent=40.0, porosity=0.5, residual=LEFT),
]
USED = used_shades(LINE, ["8 natural", "8 violet-blue", "clear"])
FRACTIONS = np.array([[0.5, 0.5, 0.0], [0.25, 0.25, 0.5], [1.0, 0.0, 0.0]])


def _alone(case: Case, fractions: np.ndarray) -> dict[str, np.ndarray]:
    """Return the numbers of one mix in one case, from the bed and the judge themselves."""
    bed = Setting().bed(case.zone, USED)
    judge = judge_of(bed, engine.Chart.default())
    strengths = np.array([case.shades.get(name, 1.0) for name in USED.names])
    deposit = case.deposit * ((fractions * strengths) @ bed.loads)
    dry = reflectance_to_lab(bed.reflectance(deposit))
    damp = reflectance_to_lab(bed.damp(deposit, wetting=case.wetting))
    return {
        "dry_lab": dry,
        "damp_lab": damp,
        "level": judge.level(dry),
        "warmth_left_percent": judge.warmth_left_percent(dry),
        "levels_deeper_measured": judge.levels_deeper_measured(dry),
        "levels_deeper_looks": judge.levels_deeper_looks(dry),
        "damp_levels_deeper": judge.level(dry) - judge.level(damp),
    }


@pytest.mark.parametrize("zone", ZONES)
def test_many_mixes_in_many_cases_read_as_each_alone(zone: engine.Zone) -> None:
    doubts = Doubts()
    found = numbers(zone, USED, FRACTIONS, setting=Setting(), doubts=doubts)

    for n, mix in enumerate(FRACTIONS):
        middle = _alone(Case(zone), mix)
        pairs = [
            [_alone(case, mix) for case in pair] for pair in doubtful_pairs(zone, USED, doubts)
        ]
        for field in fields(Numbers):
            name = field.name
            ranged = getattr(found, name).at(n)
            # Without the model's own doubt: `from_pairs` adds it to both in the same way.
            direct = Ranged.from_pairs(middle[name], [[c[name] for c in p] for p in pairs])
            assert ranged.value == pytest.approx(middle[name], abs=1e-9)
            assert np.all(ranged.low <= direct.low + 1e-9)
            assert np.all(ranged.high >= direct.high - 1e-9)
            if name == "damp_levels_deeper":  # the model adds no doubt of its own
                assert ranged.low == pytest.approx(direct.low, abs=1e-9)
                assert ranged.high == pytest.approx(direct.high, abs=1e-9)
