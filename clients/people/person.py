"""One person behind several entries: what is known of them is read across all of them."""

from collections import defaultdict
from collections.abc import Iterable

from clients.models import Client


def root_id(client: Client) -> int:
    """Return the id of the entry that stands for the person."""
    return client.merged_into_id or client.pk


def ids_of(client: Client) -> list[int]:
    """Return the ids of every entry of the person, the one that stands for them first."""
    root = root_id(client)
    merged = Client.objects.filter(merged_into=root).order_by("pk")
    return [root, *merged.values_list("pk", flat=True)]


def entries_of(clients: Iterable[Client]) -> dict[int, int]:
    """Return the person's id by entry id, for every entry of the persons asked for."""
    roots = {root_id(client) for client in clients}
    found = {root: root for root in roots}
    merged = Client.objects.filter(merged_into__in=roots)
    found.update(merged.values_list("pk", "merged_into_id"))
    return found


def by_person(entries: dict[int, int]) -> dict[int, list[int]]:
    """Return the entry ids by person id."""
    ids: dict[int, list[int]] = defaultdict(list)
    for entry, root in entries.items():
        ids[root].append(entry)
    return ids
