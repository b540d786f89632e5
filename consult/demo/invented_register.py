"""A register of invented clients who can be found and let the salon keep their records."""

import datetime as dt
from collections.abc import Sequence
from itertools import islice

from django.db import models, transaction

from clients.models import Client, Consent, ConsentKind, SearchKey, SearchVariant
from clients.people import search_index
from clients.people.invented import people
from consult.demo.house import CONSENT_WORDS, House
from salon.tools import bulk_rows

_PIECE = 5000


def registered(built: House, number: int, at: dt.datetime) -> list[Client]:
    """Return new clients, each with a consent and the keys under which they are found."""
    found: list[Client] = []
    source = people(salon=built.salon, count=number, seed=1, at=at)
    words = set(SearchVariant.objects.values_list("word", flat=True).distinct())
    while batch := list(islice(source, _PIECE)):
        with transaction.atomic():
            new = Client.objects.bulk_create(batch)
            _index(built.salon.pk, new, words)
            Consent.objects.bulk_create(
                Consent(
                    client=client,
                    kind=ConsentKind.HEALTH_RECORD,
                    wording=CONSENT_WORDS,
                    is_given=True,
                    recorded_at=at,
                    recorded_by=built.desk,
                )
                for client in new
            )
        found += new
    return found


def _index(salon: int, clients: Sequence[Client], words: set[str]) -> None:
    """Write what `search_index.index` writes for new clients; `words` are known already."""
    keys = [(client.pk, key) for client in clients for key in search_index.keys_of(client)]
    _insert(SearchKey, ["salon_id", "client_id", "key"], [(salon, *row) for row in keys])
    new = {key for _client, key in keys if key[0].isalpha()} - words
    words |= new
    variants = [(v, word) for word in sorted(new) for v in search_index.kept_variants(word)]
    _insert(SearchVariant, ["salon_id", "variant", "word"], [(salon, *row) for row in variants])


def _insert(
    model: type[models.Model], columns: Sequence[str], rows: Sequence[tuple[object, ...]]
) -> None:
    keys = bulk_rows.reserve(model, len(rows))
    bulk_rows.insert(
        model, ["id", *columns], [(key, *row) for key, row in zip(keys, rows, strict=True)]
    )
