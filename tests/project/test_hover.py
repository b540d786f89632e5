"""Nothing is shown only to a pointer that hovers: fingers and keys have none.

Outside standard: WCAG 2.2, success criterion 1.4.13 Content on Hover or Focus.
"""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.conf import settings

STYLES = sorted((settings.BASE_DIR / "static" / "css").glob("*.css"))
SHOWS = re.compile(r"(?:^|[;{\s])(display|visibility|opacity|content|clip-path|translate)\s*:")
RULE = re.compile(r"([^{}]+)\{([^{}]*)\}")
COMMENT = re.compile(r"/\*.*?\*/", re.DOTALL)


def only_on_hover(css: str) -> Iterator[str]:
    """Yield each selector that shows something to a pointer and has no partner for focus."""
    for selectors, body in RULE.findall(COMMENT.sub("", css)):
        if not SHOWS.search(body):
            continue
        listed = {" ".join(one.split()) for one in selectors.split(",")}
        for selector in listed:
            partners = {
                selector.replace(":hover", focus)
                for focus in (":focus", ":focus-visible", ":focus-within")
            }
            if ":hover" in selector and not partners & listed:
                yield selector


@pytest.mark.parametrize("path", STYLES, ids=lambda path: path.name)
def test_nothing_is_shown_on_hover_alone(path: Path) -> None:
    assert list(only_on_hover(path.read_text())) == []


@pytest.mark.parametrize(
    ("css", "found"),
    [
        (".tip { display: none } .of:hover .tip { display: block }", [".of:hover .tip"]),
        ("@media print { .of:hover::after { content: 'x' } }", [".of:hover::after"]),
        (".of:hover .tip,\n.of:focus-within .tip { opacity: 1 }", []),
        ("a:hover { color: red; text-decoration: underline }", []),
    ],
)
def test_the_question_finds_what_it_should(css: str, found: list[str]) -> None:
    assert list(only_on_hover(css)) == found
