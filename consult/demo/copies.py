"""Visits told once by the services, copied in bulk to other days and other clients.

A copy holds every row that telling wrote, in every table, each with its moment moved by the
same span. Its result is recorded again. What is signed is frozen and signed again, as the next link
of the salon's chain, and what was poured leaves the shelf.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Collection, Iterator, Sequence
from contextlib import contextmanager
from decimal import Decimal
from random import Random

from django.apps import apps
from django.db import connection, models, transaction
from django.db.models import F, OuterRef, Q, Subquery

from clients.models import Appointment, Client, ClientKey, SlotClaim
from clients.sealed import keys
from consult.demo.copied_rows import Batch, Copying, seen
from consult.demo.stories import Copy, Model, Story
from consult.models import VisitFigures
from formulas.models import ShelfBalance
from salon.models import Salon, Staff
from salon.tools import bulk_rows

__all__ = [
    "Copy",
    "Story",
    "copy",
    "is_free",
    "last_keys",
    "note_bookings",
    "recording",
    "seen",
]

# Of each client and each visit its own.
_EACH_ITS_OWN = (ClientKey, VisitFigures)
_APPS = ("salon", "formulas", "clients", "consult")


def is_free(story: Story, stylist: Staff, starts_at: dt.datetime) -> bool:
    """Return whether a stylist has all the time that a copy takes of it."""
    moved = [slot + (starts_at - story.starts_at) for slot in story.slots]
    return not SlotClaim.objects.filter(stylist=stylist, slot_at__in=moved).exists()


@contextmanager
def recording(client: Client) -> Iterator[Story]:
    """Note every row that is written inside; nobody else may write until the end."""
    story = Story(client)
    before = last_keys()
    yield story
    for model, last in last_keys().items():
        if last > before[model]:
            story.rows[model] = list(
                model._default_manager.filter(pk__gt=before[model]).order_by("pk").values()
            )


def _copied_models() -> list[Model]:
    """Return the models whose rows have numbers for keys."""
    return [
        model
        for name in _APPS
        for model in apps.get_app_config(name).get_models()
        if isinstance(model._meta.pk, models.AutoField) and model not in _EACH_ITS_OWN
    ]


def last_keys() -> dict[Model, int]:
    """Return the newest key of every model that is copied."""
    quote, found = connection.ops.quote_name, _copied_models()
    each = " UNION ALL ".join(
        f"SELECT {place}, COALESCE(MAX({quote(model._meta.pk.column)}), 0)"  # noqa: S608
        f" FROM {quote(model._meta.db_table)}"
        for place, model in enumerate(found)
    )
    with connection.cursor() as cursor:
        cursor.execute(each)
        return {found[place]: last for place, last in cursor.fetchall()}


@transaction.atomic
def copy(
    salon: Salon, wanted: Sequence[Copy], random: Random, *, notes_bookings: bool = True
) -> None:
    """Write copies in the order in which they were signed; no row is written twice.

    Who writes many batches notes the clients' last bookings once, after all of them.
    """
    salon = Salon.objects.select_for_update(no_key=True).get(pk=salon.pk)
    with keys.at_hand():
        keys.prepare({copied.client.pk for copied in wanted if copied.story.is_sealed})
        _write(wanted, Batch(salon, random, _labels()))
    if notes_bookings:
        note_bookings(salon, {copied.client.pk for copied in wanted})


def note_bookings(salon: Salon, clients: Collection[int] | None = None) -> None:
    """Note the last booking of some clients, or of all who have any."""
    own = Appointment.objects.filter(client=OuterRef("pk")).order_by("-starts_at")
    rows = Client.objects.filter(salon=salon).annotate(
        booked=Subquery(own.values("starts_at")[:1])
    )
    if clients is not None:
        rows = rows.filter(pk__in=clients)
    behind = Q(last_booked_at__isnull=True) | Q(last_booked_at__lt=F("booked"))
    rows.filter(behind, booked__isnull=False).update(last_booked_at=F("booked"))


def _labels() -> dict[str, Model]:
    return {model._meta.label_lower: model for model in _copied_models()}


def _write(wanted: Sequence[Copy], batch: Batch) -> None:
    """Copy them all, then take from the shelf what they poured."""
    counts: dict[Model, int] = defaultdict(int)
    for copied in wanted:
        for model, rows in copied.story.rows.items():
            counts[model] += len(rows)
    free = {model: iter(bulk_rows.reserve(model, n)) for model, n in counts.items()}
    drawn: dict[int, Decimal] = defaultdict(Decimal)
    for copied in wanted:
        new_keys = {
            (model, row["id"]): next(free[model])
            for model, rows in copied.story.rows.items()
            for row in rows
        }
        Copying(batch, copied, new_keys).write()
        for shade, grams in copied.story.drawn().items():
            drawn[shade] += grams
    for model, new in batch.tuples.items():
        columns = [f.column for f in model._meta.concrete_fields]
        bulk_rows.insert(model, columns, new)
    for shade, grams in drawn.items():
        ShelfBalance.objects.filter(shade=shade).update(grams=F("grams") + grams)
