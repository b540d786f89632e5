"""Names in any script: set apart from the text around them (Unicode UAX #9, HTML's bdi)."""

import re
from pathlib import Path

TEMPLATES = Path(__file__).resolve().parent.parent.parent / "templates"
# A person's name as text, and as an argument of a sentence.
SHOWN = re.compile(r"(.{0,5})\{\{ *[a-z_.]*(?:client\.(?:name|known_as)|display_name) *\}\}")
SAID = re.compile(r"\w+=[a-z_.]*(?:client\.(?:name|known_as)|display_name)(\S*)")


def test_names_are_set_apart_in_every_template() -> None:
    """Not in the page's title or an attribute, where no element can stand."""
    loose = []
    for path in TEMPLATES.rglob("*.html"):
        for number, line in enumerate(path.read_text().splitlines(), 1):
            if "block title" in line or "cards" in path.parts or "data-" in line:
                continue
            loose += [
                f"{path.relative_to(TEMPLATES)}:{number} {match.group(0)}"
                for match in SHOWN.finditer(line)
                if match.group(1) != "<bdi>"
            ]
            loose += [
                f"{path.relative_to(TEMPLATES)}:{number} {match.group(0)}"
                for match in SAID.finditer(line)
                if "isolated" not in match.group(1) and "<bdi>{{ name }}</bdi>" not in line
            ]

    assert loose == []
