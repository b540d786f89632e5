"""A drawn signature: what is kept of it, turned to read upright, and drawn again."""

import json

import pytest

from consult.agreement import anchors, strokes
from consult.agreement.anchors import AnchorText
from consult.agreement.strokes import SignatureEmpty

POINTS = [{"x": 10.04, "y": 20}, {"x": 30, "y": 25}, {"x": 50, "y": 21}, {"x": 60, "y": 20}]
DRAWN = json.dumps([{"points": POINTS}, {"points": [{"x": 62, "y": 18}]}])


def test_points_are_kept_to_a_tenth_in_the_order_of_the_pad() -> None:
    kept = json.loads(strokes.cleaned(DRAWN))

    assert kept == [[[10.0, 20], [30, 25], [50, 21], [60, 20]], [[62, 18]]]
    assert strokes.cleaned(json.dumps(kept)) == strokes.cleaned(DRAWN)


def test_a_pad_that_lies_the_other_way_is_turned_by_half_a_circle() -> None:
    turned = json.loads(strokes.cleaned(DRAWN, is_turned=True))

    assert turned == [[[52.0, 5.0], [32, 0], [12, 4], [2, 5]], [[0, 7]]]
    upright = strokes.cleaned(json.dumps(turned), is_turned=True)
    start = json.loads(upright)[0][0]
    assert start == [0.0, 2.0]  # where it was, moved to the corner


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("", "empty"),
        ("[[[1, 1], [2, 2]]]", "empty"),
        ("[[[1, 1], [2]]]", "unreadable"),
        ("{", "unreadable"),
        ('[{"dots": []}]', "unreadable"),
        ("[[[1e9, 0], [1, 1], [2, 2], [3, 3], [4, 4]]]", "unreadable"),
        ("[" * 100_000, "unreadable"),
        (" " * (strokes.MOST_CHARACTERS + 1), "too_long"),
    ],
)
def test_what_is_no_signature_is_refused_by_name(text: str, code: str) -> None:
    with pytest.raises(SignatureEmpty) as refused:
        strokes.cleaned(text)

    assert refused.value.code == code


def test_it_is_drawn_again_with_every_stroke_and_dot() -> None:
    box, path = strokes.svg_path(strokes.cleaned(DRAWN))

    assert box == "6 14 60 15"
    # A dot is a line to itself, so that a round cap shows it.
    assert path == "M10 20L30 25L50 21L60 20M62 18L62 18"


def _anchor(digests: dict[int, str]) -> AnchorText:
    return AnchorText(1, max(digests), digests, "2026-01-01T00:00:00Z")


def test_an_anchor_names_the_first_sign_off_that_is_another() -> None:
    chain = {1: "a", 2: "b", 3: "c", 4: "d"}
    assert anchors.first_difference([_anchor({2: "b"}), _anchor({4: "d"})], chain) is None

    known = anchors.first_difference([_anchor({3: "c", 4: "x"})], chain)
    unsure = anchors.first_difference([_anchor({2: "b"}), _anchor({4: "x"})], chain)
    missing = anchors.first_difference([_anchor({4: "d"})], {1: "a", 3: "c", 4: "d"})

    assert known
    assert (known.number, known.reason) == (4, "an anchor has a different one")
    assert unsure
    assert unsure.number == 4
    assert unsure.reason.endswith("or a different one before it")
    assert missing
    assert (missing.number, missing.reason) == (2, "it is missing, but an anchor has it")
