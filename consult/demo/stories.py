"""What telling a visit wrote, and where a copy of it goes."""

import datetime as dt
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cached_property
from typing import Any

from django.db import models

from clients.models import Appointment, AppointmentEvent, Client, SlotClaim
from clients.sealed.fields import sealed_fields
from consult.demo.habits import AS_PREDICTED, Off
from consult.models import Visit, VisitEvent
from formulas.models import StockMovement
from salon.models import AuditEvent, Staff

Model = type[models.Model]
# The columns of a row of any table, as Django hands them out.
Row = Mapping[str, Any]
# Of a visit of long ago.
_KEPT = (Appointment, AppointmentEvent, Visit, StockMovement)
_KEPT_EVENTS = ("appointment booked", "visit opened", "visit closed", "stock moved")


@dataclass
class Story:
    """Every row that a story wrote, by model, and whom and when it is about."""

    client: Client
    stylist: Staff = field(init=False)
    starts_at: dt.datetime = field(init=False)
    rows: dict[Model, list[Row]] = field(default_factory=dict)

    @property
    def slots(self) -> list[dt.datetime]:
        """The slots of its stylist's time."""
        return [row["slot_at"] for row in self.rows.get(SlotClaim, ()) if row["stylist_id"]]

    @cached_property
    def is_sealed(self) -> bool:
        """Whether some of it is closed by a client's key."""
        return any(
            row[f.attname] for model, rows in self.rows.items()
            for f in sealed_fields(model) for row in rows
        )  # fmt: skip

    def thin(self) -> "Story":
        """Return what is left of it after years: who came when, for what, and from the shelf."""
        thin = Story(self.client)
        thin.stylist, thin.starts_at = self.stylist, self.starts_at
        thin.rows = {model: self.rows[model] for model in _KEPT if model in self.rows}
        thin.rows[VisitEvent] = [
            row for row in self.rows[VisitEvent] if row["kind"] in _KEPT_EVENTS
        ]
        thin.rows[AuditEvent] = [
            row for row in self.rows[AuditEvent] if row["kind"] in _KEPT_EVENTS
        ]
        return thin

    def drawn(self) -> dict[int, Decimal]:
        """Return the grams that it takes from the shelf, by shade; below zero."""
        grams: dict[int, Decimal] = defaultdict(Decimal)
        for row in self.rows.get(StockMovement, ()):
            grams[row["shade_id"]] += row["grams"]
        return grams


@dataclass(frozen=True)
class Copy:
    """A story that is told again: for this client, by this stylist, from this moment."""

    story: Story
    client: Client
    stylist: Staff
    starts_at: dt.datetime
    off: Off = AS_PREDICTED
