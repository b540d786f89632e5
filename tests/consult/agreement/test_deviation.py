"""How far a mix may differ from what the client signed: each tolerance, from both sides.

15 points of warmth, half a level deeper, one level lighter: common practice, no source.
"""

import pytest

from consult.agreement.deviation import strays
from formulas.snapshots import Outlook
from tests.factories.formulas import exactly


def _numbers(*, warmth: float, deeper: float) -> Outlook:
    return {
        "level": exactly(8.0 - deeper),
        "warmth_left_percent": exactly(warmth),
        "levels_deeper_looks": exactly(deeper),
        "damp_levels_deeper": exactly(1.2),
    }


SIGNED = _numbers(warmth=40.0, deeper=1.5)


@pytest.mark.parametrize(
    ("warmth", "deeper"),
    [(40.0, 1.5), (54.9, 1.5), (25.1, 1.5), (40.0, 1.99), (40.0, 0.51)],
)
def test_a_mix_within_the_tolerances_is_what_was_signed(warmth: float, deeper: float) -> None:
    assert strays(signed=SIGNED, mix=_numbers(warmth=warmth, deeper=deeper)) == ""


@pytest.mark.parametrize(
    ("warmth", "deeper"),
    [(55.1, 1.5), (24.9, 1.5), (40.0, 2.01), (40.0, 0.49)],
)
def test_a_mix_beyond_a_tolerance_needs_a_new_signature(warmth: float, deeper: float) -> None:
    reason = strays(signed=SIGNED, mix=_numbers(warmth=warmth, deeper=deeper))

    assert f"{warmth:.0f}" in reason or f"{deeper:.1f}" in reason
