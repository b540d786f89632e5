"""The glossary for developers holds: no replaced word in a name or a sentence, no dead link."""

import ast
import gettext
import importlib
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent.parent
APPS = ("clients", "consult", "formulas", "salon")
MODULES = [
    path
    for app in APPS
    for path in sorted((ROOT / app).rglob("*.py"))
    if "migrations" not in path.parts
]
REPLACED = {
    "told", "said", "asked", "tells", "says", "stands", "lies", "anew", "meanwhile", "gone",
    "foretold", "foretelling", "thrice", "nought", "whoever",
}  # fmt: skip
# Columns of tables that exist, and the answer "Not asked". Nothing is added here.
FORMER = {"asked_at", "asked_by", "asked_at__lt", "said_at", "said_by", "NOT_ASKED"}
PHRASES = re.compile(
    r"\b(told|said|anew|meanwhile|whoever|foretold|thrice|nought|stands?|lies|the own"
    r"|take[ns]? back|taken? off|put right|puts right|put away|put up|for want of"
    r"|lifts? (an|the|this) alert|this is no|did not come up)\b",
    re.IGNORECASE,
)


def names(tree: ast.AST) -> Iterator[str]:
    """Yield every name that a module gives or uses."""
    for node in ast.walk(tree):
        for field in ("id", "arg", "attr", "name"):
            name = getattr(node, field, None)
            if isinstance(name, str):
                yield name


@pytest.mark.parametrize("path", MODULES, ids=lambda p: str(p.relative_to(ROOT)))
def test_no_name_has_a_word_that_the_glossary_replaces(path: Path) -> None:
    found = {
        name
        for name in names(ast.parse(path.read_text()))
        if name not in FORMER
        and REPLACED & {word.lower() for word in re.findall(r"[A-Z]?[a-z]+|[A-Z]+", name)}
    }

    assert found == set()


def test_no_sentence_has_a_word_that_the_glossary_replaces() -> None:
    with (ROOT / "salon/locale/de/LC_MESSAGES/django.mo").open("rb") as file:
        catalogue = gettext.GNUTranslations(file)._catalog  # type: ignore[attr-defined]
    sentences = [key[0] if isinstance(key, tuple) else key for key in catalogue]

    assert [text for text in sentences if PHRASES.search(text)] == []


def test_every_place_that_the_glossary_names_exists() -> None:
    text = (ROOT / "GLOSSARY.md").read_text()
    for dotted in re.findall(r"`((?:clients|consult|formulas|salon)\.[\w.]+)`", text):
        module, _, last = dotted.rpartition(".")
        try:
            importlib.import_module(dotted)
        except ModuleNotFoundError:
            assert hasattr(importlib.import_module(module), last), dotted
    services = set(re.findall(r"\| `([a-z_]+)` \|$", text, re.MULTILINE))
    source = "\n".join(path.read_text() for path in MODULES)
    assert [name for name in services if f"def {name}(" not in source] == []


def test_every_decision_is_short_and_in_its_form() -> None:
    for path in sorted((ROOT / "decisions").glob("0*.md")):
        text = path.read_text()
        for part in ("# ", "**Context.**", "**Decision.**", "**Consequence.**"):
            assert part in text, path.name
        assert len(text.split()) < 250, path.name
