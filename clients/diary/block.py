"""One appointment as a block of the diary: its state in words, badge and shape."""

import datetime as dt
from dataclasses import dataclass
from functools import cached_property

from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from clients.models import AlertKind, Appointment, ClientAlert, Status
from clients.skin_test.state import Code, PatchState

# The kind of badge that goes with each state; the word is beside it.
BADGES = {
    Code.CLEAR: "good",
    Code.WAITING: "info",
    Code.READY: "caution",
    Code.EXPIRED: "stop",
    Code.NONE: "stop",
    Code.VOID: "stop",
    Code.REACTED: "stop",
}


def badge_of(state: PatchState | None) -> str:
    """Return the kind of badge of a state."""
    if state is None:
        return "plain"
    if state.code is Code.WAITING and state.comes_too_late:
        return "stop"
    return BADGES[state.code]


# In these a reaction, an expired or undone test still endangers somebody.
STILL_OPEN = (Status.BOOKED, Status.CHECKED_IN, Status.IN_SERVICE)

Span = tuple[dt.datetime, dt.datetime]


@dataclass(frozen=True)
class Block:
    """One appointment in a column; `inset` where it is inside another one's gap.

    A page shows it twice, as a block and in the list: what both ask for is kept.
    """

    appointment: Appointment
    state: PatchState | None
    badge: str
    inset: bool = False
    may_check_in: bool = False
    is_too_young: bool = False  # no colour on that day, and so no test either
    has_no_consent: bool = False  # to keep health data: no colour and no test without
    alerts: tuple[ClientAlert, ...] = ()  # of the client, that the reader may see

    @property
    def is_forbidden(self) -> bool:
        """Whether no test could open colour to the client."""
        return self.is_too_young or self.has_no_consent

    @cached_property
    def shown_alerts(self) -> tuple[ClientAlert, ...]:
        """The alerts of what is still to come or is under way."""
        if self.appointment.status not in STILL_OPEN:
            return ()
        reaction_shown = self.state is not None and self.state.code is Code.REACTED
        return tuple(
            alert
            for alert in self.alerts
            if not (reaction_shown and alert.kind == AlertKind.REACTION)
        )

    @property
    def wants_test(self) -> bool:
        """Whether the client is still to come and a test would open colour to them."""
        booked = self.appointment.status == Status.BOOKED
        reacted = self.state is not None and self.state.code is Code.REACTED
        return booked and self.badge == "stop" and not reacted and not self.is_forbidden

    @cached_property
    def label(self) -> str:
        """The state in words; a test that cannot be in time for this start says so."""
        if self.state is None:
            return ""
        if self.has_no_consent:
            return _("Consent withdrawn: no colour")
        if self.is_too_young:
            return _("Too young for colour")
        if self.state.code is Code.WAITING and self.state.comes_too_late:
            return _("Test too late for colour")
        return self.state.label

    @cached_property
    def shows_state(self) -> bool:
        """Whether a test is in the way of what is still to come or is under way."""
        is_open = self.appointment.status in STILL_OPEN
        stops = self.is_forbidden or (self.state is not None and self.state.blocks)
        return is_open and self.state is not None and stops

    @cached_property
    def has_acts(self) -> bool:
        """Whether the block ends with what can be done next, or with what is in the way."""
        return self.may_check_in or self.shows_state

    @property
    def reacted(self) -> bool:
        """Whether the client, who is in the salon now, reacted to this line."""
        seated = self.appointment.status in {Status.CHECKED_IN, Status.IN_SERVICE}
        return seated and self.state is not None and self.state.code is Code.REACTED

    @cached_property
    def shows_clear(self) -> bool:
        """Whether to say that the test is clear."""
        booked = self.appointment.status == Status.BOOKED
        clear = self.state is not None and not self.state.blocks
        return booked and clear and not self.is_forbidden

    @cached_property
    def status_label(self) -> str:
        """The appointment's status in words; Django's own way copies every choice for it."""
        return str(Status(self.appointment.status).label)

    @cached_property
    def times(self) -> str:
        """When the appointment begins and ends, on the reader's clock."""
        ends = (self.appointment.starts_at, self.appointment.ends_at)
        return "–".join(f"{timezone.localtime(end):%H:%M}" for end in ends)

    @cached_property
    def address(self) -> str:
        """The page of the appointment."""
        return reverse("clients:appointment", args=[self.appointment.pk])

    @property
    def needs_test(self) -> bool:
        """Whether placing a test is what comes next."""
        if self.state is None or self.is_forbidden:
            return False
        return self.state.code in {Code.NONE, Code.VOID, Code.EXPIRED}

    @property
    def shape(self) -> str:
        """The modifier of the block's class: a state by shape, beside its words."""
        if self.reacted:
            return "stopped"
        if self.shows_state and self.badge == "stop":
            return "stopped"
        if self.appointment.status in {Status.CHECKED_IN, Status.IN_SERVICE}:
            return "here"
        if self.appointment.status == Status.DONE:
            return "done"
        return "stopped" if self.badge == "stop" else ""

    @property
    def modifiers(self) -> str:
        """The classes of the block beside `diary__block`, each after a space."""
        found = ["inset"] if self.inset else []
        if self.shape:
            found.append(self.shape)
        if self.may_check_in:
            found.append("checks")
        elif self.shows_state:
            found.append("acts")
        return "".join(f" diary__block--{name}" for name in found)

    @property
    def processing(self) -> Span | None:
        """The part in which the stylist is free."""
        start, end = self.appointment.processing_from, self.appointment.processing_until
        return (start, end) if start and end else None
