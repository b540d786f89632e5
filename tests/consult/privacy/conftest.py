"""A client who may ask to be erased, and a list of erasures of the test's own."""

from pathlib import Path

import pytest
from pytest_django import Settings

from clients import services as desk
from tests.factories.consult import Story


@pytest.fixture(autouse=True)
def own_list(settings: Settings, tmp_path: Path) -> None:
    settings.ERASURE_LIST = str(tmp_path / "erasures.jsonl")


@pytest.fixture
def signed(story: Story) -> Story:
    """A closed visit of a client with phone, notes, a reaction and hair history."""
    client = story.visit.client
    client.phone, client.email, client.note = "+442079460958", "ada@example.com", "likes tea"
    client.save()
    story.to_bench()
    desk.raise_alert(
        client=client, kind="reaction", text="Blisters at the ear", by=story.by, at=story.at
    )
    desk.add_hair_history(
        client=client, work="henna", origin="told", happened_date=story.at.date(),
        note="from her sister", by=story.by, at=story.at,
    )  # fmt: skip
    return story
