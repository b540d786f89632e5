"""Two salons of one owner, and a client whose visits in the first are over."""

import datetime as dt
import html
import uuid
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from django.test import Client as Browser
from django.urls import reverse
from pytest_django import Settings

from clients import services as desk
from clients.models import Client, ReceivedRecord, RecordMove
from consult import services
from formulas.models import ProductLine
from salon.linked_salons.services import link_accounts
from salon.models import AuditEvent, Role, Salon, Staff
from tests.factories.consult import SIGNATURE, Story, stocked_line
from tests.factories.salon import StaffFactory
from tests.typed import Answer, SignIn


@pytest.fixture(autouse=True)
def own_files(settings: Settings, tmp_path: Path) -> None:
    settings.ERASURE_LIST = str(tmp_path / "erasures.jsonl")
    settings.MEDIA_ROOT = tmp_path / "media"


@dataclass
class Branches:
    """The salon that the client leaves and the one that she moves to, with their people."""

    client: Client
    here: Staff
    there: Staff
    desk: Staff
    at: dt.datetime

    def ask(self, client: Client | None = None, **changes: object) -> RecordMove:
        """Let the client sign in the salon that she leaves."""
        fields = {
            "method": "typed",
            "signed_name": "Ada Brandt",
            "by": self.here,
            "at": self.at,
        }
        return services.ask_move(
            client=client or self.client,
            to_salon=self.there.salon,
            **{**fields, **changes},  # type: ignore[arg-type]
        )

    def receive(self, move: RecordMove, client: Client | None = None) -> ReceivedRecord:
        """Let the receptionist of the other salon take it over."""
        return services.receive_record(move=move, client=client, by=self.desk, at=self.at)

    def line_there(self, name: str) -> ProductLine:
        return stocked_line(self.there.salon, by=self.there, at=self.at, name=name)

    def alert(self, **fields: object) -> None:
        desk.raise_alert(client=self.client, by=self.here, at=self.at, **fields)  # type: ignore[arg-type]


@pytest.fixture
def branches(story: Story, other_salon: Salon, owner: Staff, now: dt.datetime) -> Branches:
    story.to_end()
    there = StaffFactory(salon=other_salon, role=Role.OWNER)
    front = StaffFactory(salon=other_salon, role=Role.RECEPTIONIST)
    link_accounts(other_id=there.pk, by=owner, at=now)
    return Branches(story.visit.client, owner, there, front, now + dt.timedelta(hours=1))


def events(staff: Staff) -> list[str]:
    """Return what somebody's salon has on record of copies, in order."""
    kinds = AuditEvent.objects.filter(salon=staff.salon).order_by("pk")
    words = ("record move", "record given", "record received", "received record", "copy")
    return [kind for kind in kinds.values_list("kind", flat=True) if kind.startswith(words)]


def page_of(answer: Answer, status: int = 200) -> str:
    """Return the text of a page that answers as expected."""
    assert answer.status_code == status
    return html.unescape(answer.content.decode())


def sign_move(browser: Browser, branches: Branches, **changed: Any) -> Answer:
    """Send what the client signs."""
    address = reverse("consult:move_record", args=[branches.client.pk])
    fields = {
        "method": "drawn", "signed_name": "Ada Brandt", "signature_strokes": SIGNATURE,
        "has_understood": "on", "once": str(uuid.uuid4()),
    }  # fmt: skip
    return browser.post(f"{address}?to={branches.there.salon_id}", {**fields, **changed})


@pytest.fixture
def leaving(client_for: SignIn, branches: Branches) -> Browser:
    """The browser of a stylist of the salon that the client leaves."""
    return client_for(StaffFactory(salon=branches.here.salon, role=Role.STYLIST))


@pytest.fixture
def front(client_for: SignIn, branches: Branches) -> Browser:
    return client_for(branches.desk)
