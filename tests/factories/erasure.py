"""A visit that is over, and a client who is erased once the wait is."""

import datetime as dt

from clients import services as desk
from clients.models import Erasure
from clients.selectors import privacy
from salon.models import Staff
from tests.factories.consult import Story


def end(story: Story) -> None:
    story.visit.appointment.status = "done"
    story.visit.appointment.save()


def erase(story: Story, owner: Staff, at: dt.datetime) -> Erasure:
    end(story)
    client = story.visit.client
    desk.request_erasure(client=client, reason="in_writing", by=owner, at=at)
    return desk.erase_client(client=client, by=owner, at=at + privacy.WAIT)
