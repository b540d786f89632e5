"""A whole salon goes out into one file and comes in elsewhere with the same histories."""

import base64
import datetime as dt
import io
import json
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from pytest_django import Settings

from clients import services as desk
from clients.models import Client, ClientAlert, Photo
from clients.photos import store
from clients.sealed.fields import Erased, sealed_fields
from clients.services.photos import take_photo
from consult.agreement import verification
from consult.models import SignOff
from consult.portability.collect import everything_about
from consult.portability.salon_rows import LEFT_OUT, all_models, paths
from salon.models import Salon, Staff
from tests.factories import photos as pictures
from tests.factories.consult import Story, opened
from tests.project.upgrade.databases import as_default, content
from tests.typed import present


def test_every_table_goes_along_or_stays_for_a_reason() -> None:
    labels = {model._meta.label for model in all_models()}

    assert labels == {model._meta.label for model in paths()} | set(LEFT_OUT)


@pytest.fixture
def full(story: Story, owner: Staff, stylist: Staff, now: dt.datetime) -> Salon:
    """A salon with a closed visit, a photo, an alert, and somebody who was erased."""
    pictures.agree(story.visit.appointment, story.by, now)
    take_photo(
        appointment=story.visit.appointment, picture=pictures.phone_picture(),
        moment="before", by=story.by, at=now,
    )  # fmt: skip
    desk.raise_alert(
        client=story.visit.client, kind="allergy", text="Latex", by=story.by, at=now
    )
    story.to_end()
    other = opened(owner.salon, stylist=stylist, at=now, name="Long Gone").to_bench()
    other.visit.appointment.status = "done"
    other.visit.appointment.save()
    from clients.services.privacy import end_keeping, erase

    erase(client=other.visit.client, reason="in_writing", at=now)
    end_keeping(client=other.visit.client, reason="in_writing", at=now)
    return owner.salon


def _plain(tables: dict[str, Any]) -> dict[str, Any]:
    """Return tables without what is closed anew: words and keys of clients."""
    closed = {
        model._meta.db_table: {f.column for f in sealed_fields(model)} for model in all_models()
    }
    return {
        table: {
            key: {name: value for name, value in row.items() if name not in closed[table]}
            for key, row in rows.items()
        }
        for table, rows in tables.items()
        if table != "clients_clientkey" and table in closed
    }


@pytest.mark.skipif(connection.vendor != "sqlite", reason="has an SQLite file of its own")
def test_it_comes_in_elsewhere_as_it_was(
    salon_file: Path, full: Salon, now: dt.datetime, tmp_path: Path, settings: Settings
) -> None:
    file, ada = tmp_path / "salon.closed", Client.objects.get(name="Ada Brandt")
    call_command("export_salon", file, stdout=io.StringIO())
    before = content(("salon", "formulas", "clients", "consult"))
    history = json.dumps(everything_about(ada, at=now), default=str)
    picture = store.read(Photo.objects.get())
    assert b"Ada Brandt" not in file.read_bytes()
    settings.MEDIA_ROOT = tmp_path / "elsewhere"
    settings.FORMER_STORAGE_KEYS = [settings.STORAGE_KEY]
    settings.STORAGE_KEY = base64.b64encode(b"e" * 32).decode()

    with as_default(str(salon_file)):
        call_command("import_salon", file, stdout=io.StringIO())

        settings.FORMER_STORAGE_KEYS = []
        assert _plain(content(("salon", "formulas", "clients", "consult"))) == _plain(before)
        assert json.dumps(everything_about(ada, at=now), default=str) == history
        assert verification.fault_in(Salon.objects.get()) is None
        assert ClientAlert.objects.get(kind="allergy").text == "Latex"
        assert isinstance(present(SignOff.objects.order_by("pk").last()).snapshot, Erased)
        assert store.read(Photo.objects.get()) == picture
        with pytest.raises(CommandError):
            call_command("import_salon", file, stdout=io.StringIO())


def test_a_salon_with_another_beside_it_is_not_taken_in(full: Salon, tmp_path: Path) -> None:
    file = tmp_path / "salon.closed"
    call_command("export_salon", file, stdout=io.StringIO())

    with pytest.raises(CommandError, match="new installation"):
        call_command("import_salon", file, stdout=io.StringIO())
