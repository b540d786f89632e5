"""What a page's structure must keep, read from its text: no browser needed.

Outside standards: HTML, "The id attribute" (unique in its tree) and "The label element" (`for`
names a labelable element); WCAG 2.2, success criterion 1.3.1 Info and Relationships. What the
HTML standard calls a parse error is found by tinyhtml5, an independent parser of that standard.
"""

from collections import Counter
from html.parser import HTMLParser

from tinyhtml5.parser import HTMLParser as StandardParser

LABELABLE = {"button", "input", "meter", "output", "progress", "select", "textarea"}


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.ids: Counter[str] = Counter()
        self.tags: dict[str, str] = {}
        self.named: list[tuple[str, str]] = []
        self.templates = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = {name: value or "" for name, value in attrs}
        if told.get("id"):
            self.tags.setdefault(told["id"], tag)
        if tag == "template":
            self.templates += 1
        if self.templates:
            return  # not in the page until a script takes it out
        if told.get("id"):
            self.ids[told["id"]] += 1
        if tag == "label" and "for" in told:
            self.named.append(("label", told["for"]))
        for attribute in ("aria-labelledby", "aria-describedby", "form"):
            self.named += [(attribute, one) for one in told.get(attribute, "").split()]

    def handle_endtag(self, tag: str) -> None:
        if tag == "template":
            self.templates -= 1


def parse_errors(html: str) -> list[str]:
    """Return what a parser of the standard has to mend: tags crossed, left open or extra."""
    parser = StandardParser()
    parser.parse(html)
    lines = html.splitlines()
    return [
        f"{code} {values or ''}: {lines[row - 1].strip()[:100]}"
        for (row, _column), code, values in parser.errors
    ]


def faults(html: str) -> list[str]:
    """Return ids that are there twice, and labels and references that lead nowhere."""
    reader = _Reader()
    reader.feed(html)
    found = [f"id twice: {name}" for name, count in reader.ids.items() if count > 1]
    for what, name in reader.named:
        if name not in reader.tags:
            found.append(f"{what} without its part: {name}")
        elif what == "label" and reader.tags[name] not in LABELABLE:
            found.append(f"label of what is no field: {name}")
    return found
