"""One person behind several entries: what is known of them is read across all of them."""

from collections import defaultdict
from collections.abc import Iterable

from django.db.models import F, OuterRef, Q
from django.db.models.functions import Coalesce

from clients.models import Client
from clients.models.client import entry_ids


def root(client: Client) -> Client:
    """Return the main entry of the person."""
    return client.person


def root_id(client: Client) -> int:
    """Return the id of the person's main entry."""
    return client.merged_into_id or client.pk


def is_root(client: Client) -> bool:
    """Return whether an entry is its person's main one: it was merged into no other."""
    return client.merged_into_id is None


def id_through(path: str) -> Coalesce:
    """Return the person's id as an expression, for rows that name an entry by `path`."""
    return Coalesce(F(f"{path}__merged_into"), F(path))


def named_by(path: str, people: object) -> Q:
    """Return the condition for rows whose `path` is any entry of the people.

    `people` is a person's id, an outer reference to one, or a collection of ids.
    """
    # The entries first: an "or" across two tables would read every row of the other one.
    lookup = "" if isinstance(people, int | OuterRef) else "__in"
    if isinstance(people, OuterRef):
        people = OuterRef(people)  # one query further in
    entries = Client.objects.filter(
        Q(**{f"pk{lookup}": people}) | Q(**{f"merged_into{lookup}": people})
    )
    return Q(**{f"{path}__in": entries.order_by().values("pk")})


def ids_of(client: Client) -> list[int]:
    """Return the ids of every entry of the person, the main one first."""
    return entry_ids(root_id(client))


def entries_of(clients: Iterable[Client]) -> dict[int, int]:
    """Return the person's id by entry id, for every entry of the persons asked for."""
    roots = {root_id(client) for client in clients}
    found = {own_id: own_id for own_id in roots}
    merged = Client.objects.filter(merged_into__in=roots).order_by()
    found.update(merged.values_list("pk", "merged_into_id"))
    return found


def unconfirmed(entries: Iterable[int]) -> set[int]:
    """Return the merged entries of which nobody has confirmed that they are the same body.

    What warns counts at once; what clears (a test, an answer) only of confirmed ones.
    """
    found = Client.objects.filter(
        pk__in=entries, merged_into__isnull=False, same_body_at__isnull=True
    )
    return set(found.values_list("pk", flat=True))


def by_person(entries: dict[int, int]) -> dict[int, list[int]]:
    """Return the entry ids by person id."""
    ids: dict[int, list[int]] = defaultdict(list)
    for entry, own_id in entries.items():
        ids[own_id].append(entry)
    return ids
