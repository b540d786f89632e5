"""Every word on a page goes through gettext."""

import ast
import re
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path

import pytest
from django.conf import settings
from django.template.base import Lexer, TokenType

ROOT = Path(settings.BASE_DIR)
# Where a tag itself is chosen: HTML's own names stand between template tags.
CHOOSES_TAGS = "django/forms/field.html"
TEMPLATES = [
    path
    for path in sorted((ROOT / "templates").rglob("*.html"))
    if not str(path).endswith(CHOOSES_TAGS)
]
SCRIPTS = sorted((ROOT / "static" / "js").glob("*.js"))

# Signs of units and standards, the same in every language that the product speaks.
SIGNS = {"CIE", "CSV", "PDF", "nm", "kg", "MB", "SHA", "id"}
WORDY = {"aria-label", "aria-description", "title", "alt", "placeholder", "label"}


SILENT = {"code", "script", "style", "bdi"}  # in <bdi> stand names


class Words(HTMLParser):
    """Collects the text and the spoken attributes of a page."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []
        self.silent = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.silent += tag in SILENT
        self.found += [value or "" for name, value in attrs if name in WORDY]

    def handle_endtag(self, tag: str) -> None:
        self.silent -= tag in SILENT

    def handle_data(self, data: str) -> None:
        if not self.silent:
            self.found.append(data)


def page_without_tags(source: str) -> str:
    """Return a template without its tags and variables, and without what is translated."""
    parts = []
    ends = ""
    for token in Lexer(source).tokenize():
        if token.token_type == TokenType.BLOCK:
            name, *rest = token.split_contents()
            if not ends and name in {"blocktranslate", "comment"}:
                ends = f"end{name}"
            elif not ends and name == "block" and rest[0].endswith("_class"):
                ends = "endblock"  # a class name
            elif name == ends:
                ends = ""
        if token.token_type == TokenType.TEXT and not ends:
            parts.append(token.contents)
        elif token.token_type != TokenType.COMMENT:
            parts.append(" ")
    return "".join(parts)


def untranslated(source: str) -> Iterator[str]:
    """Yield the words of a template that no translator will see."""
    words = Words()
    words.feed(page_without_tags(source))
    for text in words.found:
        for word in re.findall(r"[^\W\d_]{2,}", text):
            if word not in SIGNS:
                yield " ".join(text.split())
                break


def page_of(path: Path) -> str:
    """Return a template; what is drawn inside of a tag stands in one."""
    source = path.read_text()
    return f"<p {source}>" if path.stem.endswith("_attributes") else source


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda p: str(p.relative_to(ROOT)))
def test_no_template_holds_words_of_its_own(path: Path) -> None:
    assert list(untranslated(page_of(path))) == []


def test_the_search_for_words_finds_them() -> None:
    source = """{% load i18n %}<p title="Hello">{% translate "Yes" %} and {{ name }}</p>
        {% blocktranslate %}inside{% endblocktranslate %}{# a note #}<script>let a;</script>"""

    assert list(untranslated(source)) == ["Hello", "and"]


@pytest.mark.parametrize("path", SCRIPTS, ids=lambda p: p.name)
def test_no_script_holds_sentences_of_its_own(path: Path) -> None:
    """Scripts take their words from data- attributes of the page."""
    code = re.sub(r"/\*.*?\*/|^\s*//.*?$", "", path.read_text(), flags=re.DOTALL | re.MULTILINE)
    code = re.sub(r"new Error\([^)]*\)", "", code)  # for the console
    spoken = re.findall(
        r"(?:textContent|innerText|aria-label\"?,)\s*=?\s*([\"'][A-Za-z]{2}.*)", code
    )
    sentences = [
        text
        for _quote, text in re.findall(r"([\"'`])((?:(?!\1).)*)\1", code)
        if re.match(r"[A-Z][a-z]+( [a-z]+)+[.!?]?$", text)
    ]

    assert spoken + sentences == []


PRODUCT = [
    path
    for app in ("clients", "consult", "formulas", "salon")
    for path in sorted((ROOT / app).rglob("*.py"))
    if not {"migrations", "management", "demo", "engine", "tools"} & set(path.parts)
]
SAID = {"label", "help_text", "verbose_name", "verbose_name_plural", "unit", "title"}
SAYERS = {"ValidationError", "add_error", "success", "error", "warning", "info"}


def unsaid(tree: ast.AST) -> Iterator[str]:
    """Yield what a module says to people without asking for a translation."""
    for call in (node for node in ast.walk(tree) if isinstance(node, ast.Call)):
        name = call.func.attr if isinstance(call.func, ast.Attribute) else ""
        if ast.unparse(call.func).startswith("log."):
            continue  # for whoever runs the installation, in English
        name = call.func.id if isinstance(call.func, ast.Name) else name
        told = [keyword.value for keyword in call.keywords if keyword.arg in SAID]
        if name in SAYERS:
            told += call.args[1:] if name == "add_error" else call.args
        for value in told:
            texts: list[ast.expr] = [
                node for node in ast.walk(value) if isinstance(node, ast.JoinedStr)
            ]
            texts += [value] if isinstance(value, ast.Constant) else []
            for text in texts:
                if re.search(r"[^\W\d_]{2,}", ast.unparse(text).replace("f'", "")):
                    yield ast.unparse(text)


@pytest.mark.parametrize("path", PRODUCT, ids=lambda p: str(p.relative_to(ROOT)))
def test_what_people_are_told_is_asked_of_gettext(path: Path) -> None:
    assert list(unsaid(ast.parse(path.read_text()))) == []


FORMS = [path for path in PRODUCT if "forms" in str(path.relative_to(ROOT))]


@pytest.mark.parametrize("path", FORMS, ids=lambda p: str(p.relative_to(ROOT)))
def test_every_decimal_box_takes_a_comma(path: Path) -> None:
    """`salon.numbers.Number` reads "12,5"; Django's own field only where nothing is typed."""
    for call in (n for n in ast.walk(ast.parse(path.read_text())) if isinstance(n, ast.Call)):
        if ast.unparse(call.func) in {"forms.DecimalField", "forms.FloatField"}:
            assert "HiddenInput" in ast.unparse(call)
