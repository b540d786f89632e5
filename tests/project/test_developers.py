"""DEVELOPERS.md and what it leads to send nobody to a place that is not there."""

import ast
import re
from pathlib import Path

import pytest

from salon.tools import rooms

ROOT = Path(__file__).resolve().parent.parent.parent
# A path may begin at the top, in an app, in the engine or among the tests.
BASES = ("", *rooms.APPS, "formulas/engine", "tests", "tests/clients", "tests/salon")
TEXT = (ROOT / "DEVELOPERS.md").read_text()
DECISIONS = ROOT / "decisions"
LISTED = (DECISIONS / "README.md").read_text()
SECURITY = (DECISIONS / "SECURITY.md").read_text()
MODULE = re.compile(r"^(?:salon|formulas|clients|consult)/[\w/]+\.py$")


def _questions() -> dict[str, list[str]]:
    """Return what stands in backticks in each answer, by question."""
    table = TEXT.partition("## Where to find it")[2].partition("\n## ")[0]
    rows = [line.strip("|").split("|") for line in table.splitlines() if line.startswith("|")]
    return {row[0].strip(): re.findall(r"`([^`]+)`", row[1]) for row in rows[2:]}


def _defined_in(path: Path) -> set[str]:
    """Return the classes, functions and names of a module, and those of its classes."""
    found = set()
    for node in ast.parse(path.read_text()).body:
        names = [node, *(node.body if isinstance(node, ast.ClassDef) else [])]
        for each in names:
            prefix = "" if each is node else f"{getattr(node, 'name', '')}."
            found |= {prefix + name for name in _names(each)}
    return found


def _names(node: ast.stmt) -> list[str]:
    if isinstance(node, ast.ClassDef | ast.FunctionDef):
        return [node.name]
    if isinstance(node, ast.Assign):
        return [target.id for target in node.targets if isinstance(target, ast.Name)]
    if isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name):
        return [node.target.id]
    return []


@pytest.mark.parametrize("question", _questions())
def test_every_answer_names_what_exists(question: str) -> None:
    """Each named symbol is defined in a module that its own row names."""
    named = _questions()[question]
    modules = [ROOT / name for name in named if MODULE.match(name)]
    symbols = [name for name in named if not MODULE.match(name)]

    assert [str(path) for path in modules if not path.is_file()] == []
    defined = set().union(*(_defined_in(path) for path in modules))
    assert [name for name in symbols if name not in defined] == []


@pytest.mark.parametrize(
    ("guess", "only"),
    [
        ("patch_valid", {"salon/models/policy.py: Policy.patch_valid_months"}),
        ("may_override", {"clients/policies.py: check_may_override"}),
        ("^LEVELS$", {"formulas/engine/hair/chart.py: LEVELS"}),
        ("priced_bowl", {"consult/history/costs.py: _priced_bowls"}),
    ],
)
def test_a_guessed_name_leads_to_the_one_rule(guess: str, only: set[str]) -> None:
    """Whoever searches for the words of the question finds one place."""
    found = {
        f"{path.relative_to(ROOT)}: {name}"
        for app in rooms.APPS
        for path in (ROOT / app).rglob("*.py")
        if "migrations" not in path.parts
        for name in _defined_in(path)
        if re.search(guess, name)
    }

    assert found == only


def test_every_path_it_names_exists() -> None:
    written = set(re.findall(r"`((?:[a-z_]+/)+[\w.]*)`", TEXT + SECURITY)) | set(
        re.findall(r"\(([\w/]+\.md)\)", TEXT)
    )

    def is_there(path: str) -> bool:
        return any((ROOT / base / path).exists() for base in BASES)

    assert len(written) > 50
    assert [path for path in sorted(written) if not is_there(path)] == []


def test_every_decision_is_listed_in_order() -> None:
    listed = re.findall(r"\((\d{4}[\w-]*\.md)\)", LISTED)
    kept = sorted(path.name for path in DECISIONS.glob("0*.md"))

    assert listed == kept
    assert [name[:4] for name in kept] == [f"{number:04}" for number in range(1, len(kept) + 1)]


def test_no_modules_import_each_other_in_a_circle() -> None:
    assert rooms.circle() == []
