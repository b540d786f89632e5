"""Alerts about a client, and the words of those that the product writes itself."""

import datetime as dt
from collections.abc import Sequence
from typing import TypedDict

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.formats import date_format
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from clients.models.client import Client
from clients.sealed.fields import SealedJSONField, SealedTextField
from formulas.models import ProductLine
from salon.append_only import AppendOnlyModel
from salon.models import Salon


class AlertKind(models.TextChoices):
    """What an alert warns of."""

    ALLERGY = "allergy", _("allergy")
    REACTION = "reaction", _("reaction")
    MEDICAL = "medical", _("medical note")
    OTHER = "other", _("note")


class Sign(models.TextChoices):
    """What a reaction shows, by eye and by the client's word."""

    BURNING = "burning", _("burning or stinging")
    ITCHING = "itching", _("itching")
    REDNESS = "redness", _("redness or a rash")
    SWELLING = "swelling", _("swelling of the scalp, ears or neck")
    BLISTERS = "blisters", _("blisters or weeping skin")
    FACE = "face", _("a swollen face or eyes")
    BREATHING = "breathing", _("trouble breathing, dizziness")
    OTHER = "other", _("something else")


class AlertCode(models.TextChoices):
    """What the product itself writes into an alert: worded when it is read, never before."""

    PATCH_REACTION = "patch_reaction", _("reaction to a patch test")
    COLOUR_REACTION = "colour_reaction", _("reaction to colour")
    MISTAKE = "mistake", _("pressed by mistake")
    DESCRIBED = "described", _("described since")
    WRONG_CLIENT = "wrong_client", _("belonged to another client")
    REPORTED = "reported", _("the client's word of a reaction")
    ELSEWHERE = "elsewhere", _("known in another salon")
    REACTED_THERE = "reacted_there", _("reaction in another salon")


# Of what another salon knows of the client.
FROM_ELSEWHERE = {AlertCode.ELSEWHERE, AlertCode.REACTED_THERE}


class AlertDetails(TypedDict, total=False):
    """What the sentence of an alert names: line, ISO date, codes of `Sign`, a typed note.

    Of one that came from another salon: that salon's name, and the code it has there.
    """

    salon: str
    code: str
    line: str
    on: str
    signs: Sequence[str]
    note: str


class ClientAlert(AppendOnlyModel):
    """Something everyone must see before touching the client; lifted by a later row."""

    client = models.ForeignKey(Client, on_delete=models.PROTECT, related_name="alerts")
    kind = models.CharField(_("kind"), max_length=10, choices=AlertKind.choices)
    text = SealedTextField(_("details"), of="client", is_kept=True, max_length=200, blank=True)
    # Of one that the product wrote: what it says and of what, for every reader's language.
    code = models.CharField(max_length=16, choices=AlertCode.choices, blank=True)
    details = SealedJSONField(of="client", is_kept=True, default=dict, blank=True)
    # Of a reaction while colour was on: the line that is blocked for this client from then on.
    line = models.ForeignKey(
        ProductLine, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    lifts = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="lifted_by"
    )
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    # Of a medical note, for a reader who only has to know that there is one.
    is_hidden = False

    class Meta(AppendOnlyModel.Meta):
        ordering = ["-recorded_at", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(text="") | ~Q(code=""), name="alert_says_something"
            ),
        ]

    @property
    def salon(self) -> Salon:
        """The salon whose record it is."""
        return self.client.salon

    @property
    def is_for_good(self) -> bool:
        """Whether nobody can remove it: a reaction to colour, here or in another salon."""
        return self.line_id is not None or self.code == AlertCode.REACTED_THERE

    def __str__(self) -> str:
        return self.words

    @property
    def words(self) -> str:
        """What to know: as it was typed, or in the reader's language."""
        if self.is_hidden:
            return gettext("Ask a stylist or an owner before colour: only they can read it.")
        return self.text or alert_words(self.code, self.details)


def alert_words(code: str, details: AlertDetails) -> str:
    """Return the sentence of an alert that the product wrote."""
    line = f"\u2068{details.get('line', '')}\u2069"
    if code == AlertCode.PATCH_REACTION:
        return gettext("Reacted to a patch test: %(line)s") % {"line": line}
    if code == AlertCode.COLOUR_REACTION:
        return gettext("Reacted to %(line)s on %(when)s: %(seen)s") % {
            "line": line,
            "when": date_format(dt.date.fromisoformat(details["on"]), "SHORT_DATE_FORMAT"),
            "seen": _seen(details),
        }
    if code in FROM_ELSEWHERE:
        there = details.get("code", "")
        words = alert_words(there, details) if there else details.get("note", "")
        salon = f"\u2068{details.get('salon', '')}\u2069"
        return gettext("From %(salon)s: %(words)s") % {"salon": salon, "words": words}
    sentences: dict[str, str] = {
        AlertCode.MISTAKE: gettext("Pressed by mistake: no reaction."),
        AlertCode.WRONG_CLIENT: gettext("Came with a record that belongs to another client."),
        AlertCode.REPORTED: gettext("Says that hair colour has caused a reaction before."),
    }
    return sentences.get(code, gettext("Described: see the newer alert."))


def _seen(details: AlertDetails) -> str:
    """Return the signs in words, and the note as it was typed."""
    signs = ", ".join(str(Sign(code).label) for code in details.get("signs", []))
    words = signs or gettext("not described yet")
    note = details.get("note", "")
    return f"{words}. {note}" if note else words
