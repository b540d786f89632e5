"""The explanation agrees with the engine's own answers, and the drawings show them."""

import re

import pytest

from formulas import engine
from formulas.drawing.bars import stock_bar, swing_bar
from formulas.drawing.frame import Frame, ticks
from formulas.drawing.place import place_svg
from formulas.drawing.spectra import deposit_svg, reflectance_svg
from formulas.engine.light.colorimetry import reflectance_to_lab
from formulas.engine_inputs import ZoneInput
from formulas.explanation import Explanation, explain
from formulas.models import ProductLine

ZONE = ZoneInput(lifted_level=7.5)
PARTS = {"8 natural": 2.0, "8 strong violet-blue": 1.0}


@pytest.fixture
def worked(line: ProductLine) -> Explanation:
    return explain(line=line, zone=ZONE, parts=PARTS, minutes=20)


def test_spectra_show_the_predicted_colours(worked: Explanation) -> None:
    told = worked.prediction

    labs = {"start": told["start_lab"], "dry": told["dry_lab"], "damp": told["damp_lab"]}
    for key, lab in labs.items():
        seen = reflectance_to_lab(worked.reflectance[key])
        assert seen == pytest.approx(lab, abs=0.1), key


def test_a_deposit_only_takes_light_away(worked: Explanation) -> None:
    spectra = worked.reflectance

    for start, dry, damp in zip(*(spectra[k] for k in ("start", "dry", "damp")), strict=True):
        assert damp <= dry <= start


def test_the_mix_lies_on_the_possible_side_of_the_limit(worked: Explanation) -> None:
    told = worked.prediction

    assert told["levels_deeper_looks"]["value"] >= worked.least_possible - 0.02
    limit = engine.limit(engine.Zone(7.5))
    warmth = told["warmth_left_percent"]["value"]
    assert worked.least_possible == pytest.approx(float(limit.at(warmth)), abs=0.02)


def test_terms_add_up_to_the_whole_change(worked: Explanation) -> None:
    told = worked.prediction

    warmth = sum(term["warmth_percent"] for term in told["terms"])
    depth = sum(term["levels_deeper"] for term in told["terms"])
    assert warmth == pytest.approx(told["warmth_left_percent"]["value"] - 100, abs=0.5)
    assert depth == pytest.approx(told["levels_deeper_looks"]["value"], abs=0.02)


def test_drawings_stay_inside_their_field_and_hold_no_style(worked: Explanation) -> None:
    told = worked.prediction
    drawings = [
        reflectance_svg(worked.wavelengths_nm, worked.reflectance),
        deposit_svg(worked.wavelengths_nm, worked.deposit),
        place_svg(
            limit=worked.limit,
            mixes=worked.reachable.mixes,
            warmth=told["warmth_left_percent"],
            deeper=told["levels_deeper_looks"],
            hex_colour=told["dry_hex"],
        ),
    ]

    for svg in drawings:
        width, height = (float(v) for v in re.findall(r"[\d.]+", svg.split(">")[0])[2:4])
        assert "style=" not in svg
        assert not re.search(r"\bnan\b", svg)
        for x, y in re.findall(r"[ML]([-\d.]+) ([-\d.]+)", svg):
            assert 0 <= float(x) <= width
            assert 0 <= float(y) <= height


def test_a_shade_name_cannot_break_out_of_a_drawing() -> None:
    svg = deposit_svg([400.0, 700.0], [{"shade": '"><script>', "ks": [0.1, 0.2]}])

    assert "<script>" not in svg
    assert "&lt;script&gt;" in svg


def test_clear_alone_draws_a_flat_deposit() -> None:
    svg = deposit_svg([400.0, 700.0], [{"shade": "clear", "ks": [0.0, 0.0]}])

    assert not re.search(r"\bnan\b", svg)


def test_a_frame_puts_its_corners_where_the_field_is() -> None:
    frame = Frame(0, 10, 0, 1)

    assert (frame.x(0), frame.x(10)) == (frame.left, frame.right)
    assert (frame.y(0), frame.y(1), frame.y(9)) == (frame.bottom, frame.top, frame.top)
    assert ticks(-20, 20, 20) == [(-20, "−20"), (0, "0"), (20, "20")]


@pytest.mark.parametrize("share", [-1, 0, 0.5, 1, 7])
def test_bars_never_leave_their_track(share: float) -> None:
    for svg in (stock_bar(share), swing_bar(share, reach=1.0), swing_bar(share, reach=0.0)):
        spans = re.findall(r'<rect(?: x="([\d.]+)")? width="([\d.]+)"', svg)
        assert all(0 <= float(x or 0) + float(w) <= 100 for x, w in spans)
