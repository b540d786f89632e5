"""A lost key is said before it is lost: the sheet, and the check that misses it."""

import io
from pathlib import Path

import pytest
from django.core.checks import run_checks
from django.core.management import CommandError, call_command
from pypdf import PdfReader
from pytest_django import Settings

from salon import storage_key
from tests.factories.consult import Story


def _found() -> list[str]:
    return [str(one.id) for one in run_checks(tags=["database"], databases=["default"])]


def test_the_sheet_has_the_keys_and_the_check_knows_it(
    story: Story, tmp_path: Path, settings: Settings
) -> None:
    story.answer()
    assert "clients.W001" in _found()

    call_command("recovery_sheet", tmp_path / "sheet.pdf", stdout=io.StringIO())

    pages = PdfReader(tmp_path / "sheet.pdf").pages
    text = "".join(pages[0].extract_text().split())
    assert len(pages) == 1
    assert settings.STORAGE_KEY in text
    assert settings.SIGNING_KEY in text
    assert storage_key.name_of(storage_key.current()) in text
    assert (tmp_path / "sheet.pdf").stat().st_mode & 0o077 == 0
    assert "clients.W001" not in _found()
    with pytest.raises(CommandError, match="exists"):
        call_command("recovery_sheet", tmp_path / "sheet.pdf")


def test_a_new_key_needs_a_new_sheet(story: Story, tmp_path: Path, settings: Settings) -> None:
    story.answer()
    call_command("recovery_sheet", tmp_path / "sheet.pdf", stdout=io.StringIO())
    settings.FORMER_STORAGE_KEYS = [settings.STORAGE_KEY]
    settings.STORAGE_KEY = settings.SIGNING_KEY

    assert "clients.W001" in _found()
