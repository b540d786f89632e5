"""The command, as a shell would use it."""

import json
import subprocess
import sys

import pytest

from formulas.engine import Zone, demo_lines, predict
from formulas.engine.cli.command import main

MIX = ["--part", "8 natural", "2", "--part", "8 violet-blue", "1"]
RANGED = (
    "level",
    "warmth_left_percent",
    "levels_deeper_measured",
    "levels_deeper_looks",
    "damp_levels_deeper",
)


def _json(capsys: pytest.CaptureFixture[str], *arguments: str) -> object:
    assert main([*arguments, "--json"]) == 0
    return json.loads(capsys.readouterr().out)


def _refusal(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    assert main(list(arguments)) == 2
    told = capsys.readouterr()
    assert not told.out
    return told.err


def test_it_runs_without_django() -> None:
    code = (
        "import sys; from formulas.engine.cli.command import main; "
        f"code = main(['predict', '--level', '7.5', *{MIX!r}]); "
        "assert not any(name.split('.')[0] == 'django' for name in sys.modules); "
        "sys.exit(code)"
    )

    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=False
    )

    assert done.returncode == 0, done.stderr
    assert "warmth left, %" in done.stdout


def test_it_runs_as_a_module() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "formulas.engine", "limit", "--level", "7.5", "--json"],
        capture_output=True,
        text=True,
        check=False,
    )

    assert done.returncode == 0, done.stderr
    assert len(json.loads(done.stdout)) == 25


def test_predict_gives_every_number_with_its_range(
    capsys: pytest.CaptureFixture[str],
) -> None:
    told = _json(
        capsys, "predict", "--level", "7.5", "--undertone", "yellow-orange",
        "--line", "Tidepool", *MIX, "--minutes", "20",
    )  # fmt: skip

    assert isinstance(told, dict)
    for name in RANGED:
        assert told[name]["low"] < told[name]["value"] < told[name]["high"]
    for name in ("dry_lab", "damp_lab"):
        assert [len(told[name][k]) for k in ("low", "value", "high")] == [3, 3, 3]
    expected = predict(
        Zone(7.5), demo_lines()["Tidepool"], {"8 natural": 2, "8 violet-blue": 1}, minutes=20
    )
    assert told["warmth_left_percent"]["value"] == pytest.approx(
        expected.warmth_left_percent.value, abs=1e-3
    )
    assert told["dry_hex"] == expected.dry_hex
    assert told["sentences"]


def test_limit_is_a_list_of_points(capsys: pytest.CaptureFixture[str]) -> None:
    told = _json(capsys, "limit", "--level", "8", "--points", "7")

    assert isinstance(told, list)
    assert len(told) == 7
    assert set(told[0]) == {
        "warmth_left_percent",
        "levels_deeper_measured",
        "levels_deeper_looks",
        "levels_deeper_looks_low",
        "levels_deeper_looks_high",
    }


def test_search_gives_frontier_ranked_mixes_and_count(
    capsys: pytest.CaptureFixture[str],
) -> None:
    told = _json(
        capsys, "search", "--level", "8", "--max-shades", "2", "--max-parts", "4",
        "--aim", "60", "--aim", "20", "--k", "3",
    )  # fmt: skip

    assert isinstance(told, dict)
    shades = len(demo_lines()["Tidepool"].shades)
    # One shade; two in the ratios 1:1, 1:2, 2:1, 1:3, 3:1.
    assert told["evaluated"] == shades + 5 * shades * (shades - 1) // 2
    assert [(mix["aim"], mix["rank"]) for mix in told["ranked"]] == [
        (60, 1), (60, 2), (60, 3), (20, 1), (20, 2), (20, 3),
    ]  # fmt: skip
    assert all(sum(mix["parts"].values()) <= 4 for mix in told["ranked"])
    assert told["frontier"]


def test_text_is_for_reading(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["search", "--level", "8", "--max-shades", "1", "--aim", "50"]) == 0
    assert "warmth left" in capsys.readouterr().out
    assert main(["limit", "--level", "8"]) == 0
    assert "as it looks" in capsys.readouterr().out


def test_the_last_visits_toner_counts(capsys: pytest.CaptureFixture[str]) -> None:
    told = _json(
        capsys, "predict", "--level", "8", *MIX,
        "--last-part", "8 violet", "1", "--washes", "4",
    )  # fmt: skip

    assert isinstance(told, dict)
    assert told["residual"]["part"] == "residual"
    assert told["start_warmth_percent"] < 80


def test_a_shade_given_twice_gets_both(capsys: pytest.CaptureFixture[str]) -> None:
    told = _json(
        capsys,
        "predict",
        "--level",
        "8",
        "--part",
        "8 Natural",
        "1",
        "--part",
        "8 natural",
        "1",
    )

    assert isinstance(told, dict)
    assert told["parts"] == {"8 natural": 2.0}


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["--undertone", "purple"], "undertone 'purple': use one of red-brown, red"),
        (["--line", "Nowhere"], "line 'Nowhere': use one of Tidepool, Slatecliff"),
        (["--porosity", "spongy"], "porosity 'spongy': use -1 to 1, or one of low, normal"),
        (["--part", "8 mauve", "1"], "has no shade '8 mauve'; it has 5 natural, 5 violet"),
        (
            ["--part", "8 blue", "some"],
            "parts of 8 blue [parts] must be a number, given 'some'",
        ),
        (["--part", "8 blue", "-1"], "parts of 8 blue [parts] must be within"),
        (["--part", "8 blue", "nan"], "parts of 8 blue [parts] must be within"),
        (["--level", "nan"], "lifted_level [level] must be within 1..10, given nan"),
        (["--level", "12"], "lifted_level [level] must be within 1..10, given 12"),
        (["--white", "130"], "white_percent [%]"),
        (["--minutes", "-3"], "minutes [min]"),
    ],
)
def test_wrong_words_and_numbers_are_named(
    capsys: pytest.CaptureFixture[str], arguments: list[str], message: str
) -> None:
    assert message in _refusal(capsys, "predict", "--level", "7.5", *MIX, *arguments)


def test_search_refuses_by_name(capsys: pytest.CaptureFixture[str]) -> None:
    assert "max_shades" in _refusal(capsys, "search", "--level", "8", "--max-shades", "9")
    assert "points" in _refusal(capsys, "limit", "--level", "8", "--points", "1")
