"""Whom a reminder may reach, and what it says."""

from collections.abc import Iterable, Mapping

from django.utils.translation import gettext_noop

from clients.messages import occasions, reminder_texts
from clients.messages.channels import Channel
from clients.models import Client, Consent, ConsentKind, ContactBy, ReminderKind
from clients.people import person
from salon import languages
from salon.models import Salon


def may_end(kind: str) -> bool:
    """Return whether the client's end of reminders ends messages of a kind.

    That a skin test has to be looked at is no reminder of an appointment: who misses it may
    miss a reaction. Only a wish for no messages at all (`ContactBy.NOTHING`) ends it.
    """
    return kind != ReminderKind.READING_DUE


def agreed(clients: Iterable[Client]) -> dict[int, bool]:
    """Return by person's id their last answer about reminders, where there is one."""
    entries = person.entries_of(clients)
    words = Consent.objects.filter(client__in=entries, kind=ConsentKind.REMINDERS)
    latest = words.order_by("recorded_at", "pk").values_list("client", "is_given")
    return {entries[client]: is_given for client, is_given in latest}


def why_not(
    client: Client, kind: str, channel: Channel, *, known: Mapping[int, bool] | None = None
) -> str:
    """Return why a client is not to be written to, or nothing.

    Kept beside the reminder, so in the product's own language; `Reminder.reason_text` says it
    in the reader's. `known` is what `agreed` found of many clients.
    """
    if client.shut or client.contact_by == ContactBy.NOTHING:
        return (
            gettext_noop("record is shut") if client.shut else gettext_noop("wants no messages")
        )
    answer = (agreed([client]) if known is None else known).get(person.root_id(client))
    if answer is False and may_end(kind):
        return gettext_noop("consent withdrawn")
    if kind == ReminderKind.RETONE_DUE and answer is None:
        return gettext_noop("no consent to reminders")
    if client.contact_by == ContactBy.PHONE:
        return gettext_noop("prefers a call: on the call list")
    if not channel.reaches(client):
        return gettext_noop("no e-mail address: on the call list")
    return ""


def rendered(salon: Salon, occasion: occasions.Occasion) -> tuple[str, str]:
    """Return subject and body of an occasion's message."""
    with languages.speaking(occasion.client.speaks(salon)):
        template = reminder_texts.template_of(salon, occasion.kind)
    values = {
        **occasion.values,
        "name": occasion.client.called,
        "salon": salon.name,
        "phone": salon.phone,
    }
    subject = reminder_texts.fill(template.subject, values)
    return " ".join(subject.split()), reminder_texts.fill(template.body, values)
