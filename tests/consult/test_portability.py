"""Everything about a client in one file (GDPR, articles 15 and 20)."""

import io
import json
import zipfile
from typing import Any

import pytest
from django.apps import apps
from django.db import models
from django.test import Client as Browser
from django.urls import reverse
from pypdf import PdfReader

from clients.models import Client, RecordAccess
from consult.portability.collect import everything_about, schema
from consult.portability.tables import LEFT_OUT, TABLES
from salon.models import AuditEvent, PreparedFile, Salon, Staff
from tests.factories.consult import Story
from tests.typed import SignIn

OWN = {"clients", "consult", "formulas", "salon"}
KINDS = {
    "string": str, "integer": int, "number": int | float, "boolean": bool, "object": dict,
    "array": list, "null": type(None),
}  # fmt: skip


def test_every_table_with_a_way_to_a_client_is_in_the_file_or_left_out_on_purpose() -> None:
    reached: set[str] = set()
    waiting: list[type[models.Model]] = [Client]
    while waiting:
        model = waiting.pop()
        reached.add(model._meta.label)
        for other in apps.get_models():
            leads = any(
                isinstance(field, models.ForeignKey) and field.related_model is model
                for field in other._meta.concrete_fields
            )
            if leads and other._meta.label not in reached and other._meta.app_label in OWN:
                waiting.append(other)

    assert reached == {table.label for table in TABLES} | set(LEFT_OUT)


@pytest.fixture
def data(story: Story, owner: Staff, client_for: SignIn) -> dict[str, bytes]:
    """The files of the archive about a client whose visit is signed and mixed."""
    story.to_bench()
    address = reverse("consult:take_everything", args=[story.visit.client_id])
    boss = client_for(owner)
    assert boss.post(address).headers["Location"] == reverse("salon:files")
    answer = boss.post(reverse("salon:fetch_file", args=[PreparedFile.objects.get().pk]))
    assert answer.headers["Content-Type"] == "application/zip"
    assert answer.headers["Cache-Control"] == "no-store"
    with zipfile.ZipFile(io.BytesIO(answer.getvalue())) as archive:
        assert archive.testzip() is None
        return {name: archive.read(name) for name in archive.namelist()}


def test_the_file_is_to_read_and_to_take_along(data: dict[str, bytes], story: Story) -> None:
    text = "".join(
        page.extract_text() for page in PdfReader(io.BytesIO(data["read-me.pdf"])).pages
    )
    content = json.loads(data["data.json"])

    assert "What this salon keeps about you" in text
    assert "Ada Brandt" in text
    assert "Patch test placed" in text
    assert content["client"][0]["name"] == "Ada Brandt"
    assert content["patchtest"][0]["batch"] == "B1"
    assert content["signoff"][0]["snapshot"]["client"]["name"] == "Ada Brandt"
    assert content["visit"][0]["stylist"] == story.by.display_name
    assert len(content["safetyanswer"]) >= 10
    assert AuditEvent.objects.get(kind="client data exported").detail == {}
    assert RecordAccess.objects.get(kind="export").client_id == story.visit.client_id


def test_the_data_are_as_their_schema_says(data: dict[str, bytes]) -> None:
    content, described = json.loads(data["data.json"]), json.loads(data["schema.json"])

    assert set(content) == set(described["properties"])
    assert described["$schema"].endswith("2020-12/schema")
    for table in TABLES:
        item = described["properties"][table.name]["items"]
        for row in content[table.name]:
            assert list(row) == list(item["properties"]) == item["required"], table
            for name, value in row.items():
                kinds = item["properties"][name]["type"]
                allowed = [kinds] if isinstance(kinds, str) else kinds
                assert any(isinstance(value, KINDS[k]) for k in allowed), (table, name, value)


def test_nothing_of_another_client_is_in_it(story: Story, salon: Salon) -> None:
    other = Client.objects.create(
        salon=salon, name="Somebody Else", registered_at=story.at, note="secret"
    )

    mine = everything_about(story.visit.client, at=story.at)
    theirs: dict[str, Any] = everything_about(other, at=story.at)

    assert "Somebody Else" not in json.dumps(mine, default=str)
    assert "Ada Brandt" not in json.dumps(theirs, default=str)
    assert [len(theirs[table.name]) for table in TABLES] == [1, *[0] * (len(TABLES) - 1)]
    fields: Any = schema()["properties"]
    assert fields["client"]["items"]["properties"]["name"]["type"] == "string"


def test_only_an_owner_makes_it(story: Story, tablet: Browser) -> None:
    address = reverse("consult:take_everything", args=[story.visit.client_id])

    assert tablet.post(address).status_code == 403
    assert not AuditEvent.objects.filter(kind="client data exported").exists()
