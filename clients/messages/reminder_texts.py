"""What reminders say, and the few things their words may name.

No health detail: a message may be read by others. Times are by the salon's clocks.
"""

import string
from dataclasses import dataclass

from django.utils.translation import gettext_lazy as _

from clients.models import ReminderKind, ReminderTemplate
from salon.models import Salon
from salon.reading_once import read_once

FIELDS = ("name", "salon", "phone", "when", "service", "stylist", "until")


@dataclass(frozen=True)
class Words:
    """The built-in words of a kind, and how long before the occasion they go out."""

    subject: object
    body: object
    hours_before: int


BUILT_IN: dict[str, Words] = {
    ReminderKind.APPOINTMENT: Words(
        _("Your appointment on {when}"),
        _(
            "Dear {name},\n\n"
            "we look forward to seeing you on {when} for {service} with {stylist}.\n"
            "If you cannot make it, please call {phone}.\n\n"
            "{salon}"
        ),
        48,
    ),
    ReminderKind.PATCH_DUE: Words(
        _("Please come in for a skin test before your appointment"),
        _(
            "Dear {name},\n\n"
            "before your appointment on {when} we need to do a short skin test, by "
            "{until} at the latest. It takes ten minutes. Please call {phone}.\n\n"
            "{salon}"
        ),
        72,
    ),
    ReminderKind.READING_DUE: Words(
        _("Please come in so that we can check your skin test"),
        _(
            "Dear {name},\n\n"
            "your skin test is ready to check from {when}. Please come in for a "
            "minute. If you notice anything on your skin, wash it off, call {phone} "
            "and see a doctor or pharmacist.\n\n"
            "{salon}"
        ),
        0,
    ),
    ReminderKind.RETONE_DUE: Words(
        _("Time for your next toner?"),
        _(
            "Dear {name},\n\n"
            "your next toner is due around {when}.\n"
            "We would love to see you: {phone}.\n\n"
            "{salon}"
        ),
        168,
    ),
}


def template_of(salon: Salon, kind: str) -> ReminderTemplate:
    """Return the salon's words for a kind, the built-in ones where it has none."""
    custom = _custom(salon, kind)
    if custom:
        return custom
    texts = BUILT_IN[kind]
    return ReminderTemplate(
        salon=salon,
        kind=kind,
        subject=str(texts.subject),
        body=str(texts.body),
        hours_before=texts.hours_before,
    )


@read_once
def _custom(salon: Salon, kind: str) -> ReminderTemplate | None:
    return ReminderTemplate.objects.filter(salon=salon, kind=kind).first()


def unknown_fields(text: str) -> list[str]:
    """Return what a text names that no reminder knows; a broken brace counts as well."""
    try:
        named = [name for _text, name, _spec, _how in string.Formatter().parse(text)]
    except ValueError:
        return [text]
    return [name for name in named if name is not None and name not in FIELDS]


def fill(text: str, values: dict[str, str]) -> str:
    """Return a text with its names filled in."""
    known = {name: values.get(name, "") for name in FIELDS}
    return string.Formatter().vformat(text, (), known)
