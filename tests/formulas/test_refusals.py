"""Every refusal of the engine that can reach a screen is said in the screens' own words."""

import ast
from pathlib import Path

import pytest
from django.utils import translation

from formulas import engine, engine_inputs, refusals
from formulas.engine.checks import EngineRefusal
from formulas.engine.hair.chart import Chart
from formulas.mixing import MixingRefused
from formulas.models import ChartEntry, Standing

ENGINE = Path(engine.__file__).parent
# What only a programmer or the engine's own command can meet, by how the sentence begins.
NEVER_ON_A_SCREEN = (
    "tone ", "standing needs", "xyz needs", "lab needs", "line ", "porosity 'ruby'",
    "undertone 'ruby'", "low and high", "ks [", "ceiling needs", "observed:",
    "visits needs", "wishes needs", "results must be", "levels [",
    "level [level] must be 1..10 in half steps", "parts of ",
    "offers must be of one line and one stock", "shades of porosity: every name",
    "porosity must be one of", "natural_lab", "porosity [L*a*b*] needs", "zones [count]",
    "offers must", "zone ", "zone:", "give --level", "porosity of zone", "1 of zone",
    "wavelengths_nm and", "reflectance needs",
)  # fmt: skip


def _sample(node: ast.expr) -> str:
    """Return a sentence as the engine would say it, with something put in for each value."""
    if isinstance(node, ast.Constant):
        return str(node.value)
    assert isinstance(node, ast.JoinedStr)
    said = []
    for part in node.values:
        if isinstance(part, ast.Constant):
            said.append(str(part.value))
            continue
        assert isinstance(part, ast.FormattedValue)
        source = ast.unparse(part.value)
        quoted = part.conversion == ord("r")
        said.append("'ruby'" if quoted else "porosity" if "name" in source else "1")
    return "".join(said)


def _raised(name: str) -> list[ast.Call]:
    return [
        node.exc
        for path in (*sorted(ENGINE.rglob("*.py")), Path(engine_inputs.__file__))
        for node in ast.walk(ast.parse(path.read_text()))
        if isinstance(node, ast.Raise) and isinstance(node.exc, ast.Call)
        if ast.unparse(node.exc.func).split(".")[-1] == name
    ]


def test_every_code_has_words_and_every_wording_a_code() -> None:
    codes = {call.args[0].value for call in _raised("EngineRefusal")}  # type: ignore[attr-defined]

    assert codes == set(refusals.WORDINGS)


@pytest.mark.parametrize("code", refusals.WORDINGS)
def test_a_refusal_of_the_engine_has_its_own_words(code: str) -> None:
    values: dict[str, float | str] = {
        "name": "porosity",
        "low": 1,
        "high": 2,
        "level": 8,
        "below": 7.5,
    }
    refusal = EngineRefusal(code, "parts [parts] given 3", **values, own=54.0, other=53.9)

    said = refusals.in_words(refusal)

    assert said != str(refusal)
    assert not {"[", "given"} & set(said.replace(".", " ").split())
    assert "_" not in said


@pytest.mark.parametrize(
    "text",
    [_sample(call.args[0]) for call in _raised("ValueError")
     if not isinstance(call.args[0], ast.Call)],
)  # fmt: skip
def test_what_has_no_code_never_reaches_a_screen(text: str) -> None:
    assert text.startswith(NEVER_ON_A_SCREEN), text


def test_numbers_stand_in_the_reader_s_own_way() -> None:
    with pytest.raises(ValueError, match="porosity") as caught:
        engine.Zone(lifted_level=7.5, porosity=1.5)

    with translation.override("de"):
        said = refusals.in_words(caught.value)

    assert "-1" in said
    assert refusals.in_words(caught.value) == "The porosity must be between -1 and 1."


def test_what_is_unknown_is_not_shown_in_the_engine_s_english() -> None:
    assert "cannot be used" in refusals.in_words(ValueError("ks [unitless] gone wrong"))


def test_a_refusal_that_is_worded_already_stays() -> None:
    assert refusals.in_words(MixingRefused("Use a larger bowl.")) == "Use a larger bowl."


def test_a_chart_s_own_entries_are_put_in_all_at_once() -> None:
    """Levels 8 and 8.5 both moved up: the first alone would pass the second and be refused."""
    default = Chart.default()
    rise = default.natural_lab[15, 0] - default.natural_lab[14, 0]
    entries = [
        ChartEntry(
            level=level,
            kind="natural",
            standing=Standing.MEASURED,
            lightness=float(lab[0]) + 1.2 * rise * share,
            green_red=float(lab[1]),
            blue_yellow=float(lab[2]),
        )
        for level, lab, share in (
            (8.0, default.natural_lab[14], 1.0),
            (8.5, default.natural_lab[15], 0.7),
        )
    ]
    with pytest.raises(ValueError, match="not lighter"):
        engine_inputs.chart_from(entries[:1])

    chart = engine_inputs.chart_from(entries)
    again = engine_inputs.chart_from(entries[::-1])

    assert chart.natural_lab[14, 0] < chart.natural_lab[15, 0]
    assert (chart.natural_lab == again.natural_lab).all()
    assert chart.standing[14] == ("measured", "model assumption")
