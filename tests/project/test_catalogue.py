"""The German catalogue: whole, in step with the code, and compiled.

Held to GNU gettext itself: `makemessages` (xgettext) on a copy, `msgfmt --check-format`.
"""

import ast
import gettext
import os
import re
import shutil
import subprocess
from pathlib import Path

import pytest
from django.conf import settings
from django.core.management import call_command
from pytest_django import Settings

from salon import registry

ROOT = Path(settings.BASE_DIR)
APPS = ("clients", "consult", "formulas", "salon")
PO = ROOT / "salon" / "locale" / "de" / "LC_MESSAGES" / "django.po"
PLACES = re.compile(r"%\(\w+\)[sd]|%[sd]|\{\w+\}")


@pytest.fixture
def tools() -> None:
    """Need GNU gettext; the full run must have it, a quick one may do without."""
    if not shutil.which("xgettext"):
        if os.environ.get("REQUIRE_POSTGRES"):
            pytest.fail("GNU gettext is missing: install the Debian package gettext.")
        pytest.skip("GNU gettext is not installed.")


def run(*command: str | Path) -> str:
    return subprocess.run(
        [str(part) for part in command], check=True, capture_output=True, text=True
    ).stdout


def catalogue(path: Path) -> dict[object, str]:
    with path.open("rb") as file:
        known: dict[object, str] = gettext.GNUTranslations(file)._catalog  # type: ignore[attr-defined]
    return known


def messages(po: Path, *which: str) -> list[str]:
    """Return the English of a catalogue's entries of one kind."""
    told = run("msgattrib", "--no-obsolete", "--no-wrap", *which, po)
    return [line for line in re.findall(r'^msgid (".*")$', told, re.MULTILINE) if line != '""']


@pytest.mark.usefixtures("tools")
def test_every_word_of_the_code_has_its_german(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, settings: Settings
) -> None:
    for name in (*APPS, "templates"):
        shutil.copytree(ROOT / name, tmp_path / name)
    monkeypatch.chdir(tmp_path)
    settings.LOCALE_PATHS = [tmp_path / "salon" / "locale"]

    call_command("makemessages", locale=["de"], no_location=True, no_obsolete=True, verbosity=0)

    fresh = tmp_path / PO.relative_to(ROOT)
    assert messages(fresh, "--untranslated") == []
    assert messages(fresh, "--only-fuzzy") == []
    assert sorted(messages(PO)) == sorted(messages(fresh))  # nothing unused is kept


@pytest.mark.usefixtures("tools")
def test_the_compiled_catalogue_is_the_written_one(tmp_path: Path) -> None:
    run("msgfmt", "--check-format", "-o", tmp_path / "fresh.mo", PO)

    assert catalogue(PO.with_suffix(".mo")) == catalogue(tmp_path / "fresh.mo")


def test_values_have_their_places_in_german_too() -> None:
    for key, german in catalogue(PO.with_suffix(".mo")).items():
        if isinstance(key, str) and key:
            assert sorted(PLACES.findall(key)) == sorted(PLACES.findall(german)), key


def test_the_catalogue_names_no_machine_and_no_day() -> None:
    told = PO.read_text()

    assert "POT-Creation-Date" not in told
    assert not re.search(r"^#: /", told, re.MULTILINE)
    assert "#, fuzzy" not in told


def test_every_kind_of_event_is_known_to_translators() -> None:
    written = set()
    for app in APPS:
        for path in (ROOT / app).rglob("*.py"):
            for node in ast.walk(ast.parse(path.read_text())):
                name = getattr(getattr(node, "func", None), "attr", "")
                if name == "record_event" and isinstance(node, ast.Call) and node.args:
                    kind = node.args[0]
                    if isinstance(kind, ast.Constant):
                        written.add(kind.value)

    assert written - registry.events() == set()
