"""What the tree itself promises: locks without hosts, scripts without inline code."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.apps import apps

ROOT = Path(__file__).resolve().parent.parent.parent
TOP_LEVEL = {
    "README.md", "DEVELOPERS.md", "manage.py", "pyproject.toml", "salon", "clients", "formulas",
    "consult", "templates", "static", "tests", "docker-compose.yml", "Makefile", "CHANGELOG.md",
    "GLOSSARY.md", "decisions",
}  # fmt: skip


@pytest.mark.parametrize("lock", sorted((ROOT / "salon" / "requirements").glob("*.txt")))
def test_locks_name_hashes_and_no_host(lock: Path) -> None:
    text = lock.read_text()

    assert "--hash=sha256:" in text
    assert "://" not in text
    assert "--index" not in text


def test_top_level_holds_what_the_design_names() -> None:
    visible = {
        path.name
        for path in ROOT.iterdir()
        if not path.name.startswith(".") and path.name not in {"var", "test-results"}
    }

    assert visible <= TOP_LEVEL


@pytest.mark.parametrize(
    "forbidden",
    [
        r"<script(?![^>]*(src=|type=\"application/json\"))",
        r"<style\b",
        r"\sstyle=",
        r"\son[a-z]+=\"",
        r"hx-on",
        r"js:",
    ],
)
def test_templates_hold_no_inline_code(forbidden: str) -> None:
    """The content security policy would block it without a word to the user.

    Printed pages are drawn by WeasyPrint, not by a browser: `templates/cards` is exempt.
    """
    hits = [
        f"{path.relative_to(ROOT)}: {match.group(0)}"
        for path in (ROOT / "templates").rglob("*.html")
        if "cards" not in path.parts
        for match in re.finditer(forbidden, path.read_text())
    ]

    assert hits == []


def _modules(kind: str) -> Iterator[Path]:
    """Yield the product's modules of a kind: those of `views`, say, in any room."""
    for app in ("salon", "clients", "formulas", "consult"):
        for path in (ROOT / app).rglob("*.py"):
            if any(kind in part for part in path.relative_to(ROOT).parts):
                yield path


def _names_that_do_something(tree: ast.Module) -> set[str]:
    """Return the names that a module uses, and not only writes or asks for as a type."""
    types: list[ast.AST | None] = []
    for node in ast.walk(tree):
        types += [getattr(node, "annotation", None), getattr(node, "returns", None)]
        if isinstance(node, ast.Call) and ast.unparse(node.func) == "isinstance":
            types.append(node.args[1])
    inner = {id(part) for found in types if found for part in ast.walk(found)}
    names = (node for node in ast.walk(tree) if isinstance(node, ast.Name))
    return {name.id for name in names if id(name) not in inner}


def test_views_do_nothing_with_models() -> None:
    """They may name one as a type, and the words of its fields; rows come from selectors."""
    models = {model.__name__ for model in apps.get_models()}
    hits = [
        f"{path.relative_to(ROOT)}: {name}"
        for path in _modules("views")
        for name in sorted(_names_that_do_something(ast.parse(path.read_text())) & models)
    ]

    assert hits == []


def test_views_reach_no_manager_and_save_no_row() -> None:
    managers = {"objects", "_default_manager", "_base_manager", "save", "bulk_create"}
    hits = [
        f"{path.relative_to(ROOT)}:{node.lineno} {ast.unparse(node)}"
        for path in _modules("views")
        for node in ast.walk(ast.parse(path.read_text()))
        if isinstance(node, ast.Attribute) and node.attr in managers
    ]

    assert hits == []


def test_the_ground_floor_names_nothing_above_it() -> None:
    """Not by import (a contract) and not by string: apps register what they add."""
    above = re.compile(r"""["'](?:clients|consult|formulas)[:./]\w""")
    allowed = {"settings.py", "urls.py", "settings_test.py"}
    files = [p for p in (ROOT / "salon").rglob("*.py") if p.name not in allowed]
    files += (ROOT / "templates" / "salon").rglob("*.html")
    files += (ROOT / "templates" / "components").rglob("*.html")
    files += (ROOT / "templates").glob("*.html")
    hits = [
        f"{path.relative_to(ROOT)}: {line.strip()}"
        for path in files
        if "tools" not in path.parts
        for line in path.read_text().splitlines()
        if above.search(line) and '"""' not in line
    ]

    assert hits == []


def test_forms_and_selectors_import_no_services() -> None:
    hits = []
    for app in ("salon", "clients", "formulas", "consult"):
        for path in (ROOT / app).rglob("*.py"):
            where = path.relative_to(ROOT / app).parts
            if where[0] not in {"forms", "forms.py", "selectors", "selectors.py"}:
                continue
            for node in ast.walk(ast.parse(path.read_text())):
                names = [alias.name for alias in getattr(node, "names", [])]
                module = getattr(node, "module", "") or ""
                if "services" in [*names, *module.split(".")]:
                    hits.append(f"{path.relative_to(ROOT)}: {module} {names}")

    assert hits == []


# What scripts of one bundle offer each other (decision 0066).
OFFERED = {"autosave", "lock", "network", "presence", "release", "strands", "vault"}


def test_a_script_offers_one_object_with_the_name_of_its_file() -> None:
    offered = {
        (path.stem, name)
        for path in (ROOT / "static" / "js").glob("*.js")
        for name in re.findall(r"window\.(\w+) = ", path.read_text())
    }

    assert {name for _stem, name in offered} == OFFERED
    assert {stem for stem, _name in offered} == OFFERED


def test_modules_stay_under_300_lines() -> None:
    long = {
        str(path.relative_to(ROOT)): lines
        for app in ("salon", "clients", "formulas", "consult", "tests")
        for path in (ROOT / app).rglob("*.py")
        if "migrations" not in path.parts
        and (lines := len(path.read_text().splitlines())) > 300
    }

    assert long == {}


def test_product_imports_nothing_that_only_tests_and_checks_install() -> None:
    """`make demo` and the container install salon/requirements/run.txt alone."""
    only_for_tests = (
        r"^(?:import|from) "
        r"(?:django_stubs_ext|pytest|hypothesis|factory|time_machine|playwright|pypdf)\b"
    )
    hits = [
        f"{path.relative_to(ROOT)}: {match.group(0)}"
        for app in ("salon", "clients", "formulas", "consult")
        for path in (ROOT / app).rglob("*.py")
        for match in re.finditer(only_for_tests, path.read_text(), re.MULTILINE)
    ]

    assert hits == []


# Half a second each (`python -X importtime`): imported where they are first used.
HEAVY = {"scipy", "colour", "weasyprint"}


@pytest.mark.parametrize("app", ["salon", "formulas", "clients", "consult"])
def test_no_module_imports_a_heavy_library_when_it_is_loaded(app: str) -> None:
    found = [
        f"{path.relative_to(ROOT)}: {name}"
        for path in (ROOT / app).rglob("*.py")
        for statement in ast.parse(path.read_text()).body
        for name in _imported_by(statement)
        if name.split(".")[0] in HEAVY
    ]

    assert found == []


def _imported_by(statement: ast.stmt) -> list[str]:
    if isinstance(statement, ast.Import):
        return [alias.name for alias in statement.names]
    return [statement.module or ""] if isinstance(statement, ast.ImportFrom) else []


def test_templates_are_not_packed_into_long_lines() -> None:
    """Pieces of a sentence without a space between them: `{% tight %}`."""
    long = [
        f"{path.relative_to(ROOT)}:{number} {len(line)}"
        for path in (ROOT / "templates").rglob("*.*")
        for number, line in enumerate(path.read_text().splitlines(), start=1)
        if len(line) > 160
    ]

    assert long == []
