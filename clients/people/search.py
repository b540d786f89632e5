"""Finding clients by what someone types; see `clients.people.search_index` for what is kept."""

import re
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from django.db import connection
from django.db.models import BooleanField, Exists, F, Func, OuterRef, Q, QuerySet, Subquery

from clients.models import Client, SearchKey, SearchVariant
from clients.models.client import searchable
from clients.people import person, search_index, search_text
from salon.models import Salon

_CAP = 3000  # of those with a beginning, that many are ranked
# Of a short one that many, after those of so many who were booked last.
_SHORT, _SHORT_CAP, _LATEST = 3, 1000, 400
_MOST_GUESSES = 40


def find(*, salon: Salon, text: str, most: int) -> list[Client]:
    """Return the clients that the text leads to; whoever was booked last comes first."""
    text = text.replace("\x00", " ").strip()[:100]  # PostgreSQL takes no NUL
    if not text:
        return _latest(salon, most)
    found: dict[int, Client] = {}
    for matches in _ways(salon, text):
        for client in _merged_into_roots(_ranked(matches, most)):
            found.setdefault(client.pk, client)
        if len(found) >= most:
            break
    if not found:
        for client in _merged_into_roots(_ranked(_with_mistakes(salon, text), most)):
            found.setdefault(client.pk, client)
    return list(found.values())[:most]


def _latest(salon: Salon, most: int) -> list[Client]:
    """Return who was booked last, then the others by name."""
    everyone = Client.objects.for_salon(salon).in_register()
    regulars = everyone.filter(last_booked_at__isnull=False).order_by("-last_booked_at")
    found = list(regulars[:most])
    others = everyone.filter(last_booked_at__isnull=True)
    return [*found, *others[: most - len(found)]]


def _ways(salon: Salon, text: str) -> Iterator[QuerySet[Client]]:
    """Yield the readings of a text as queries, the likeliest first."""
    everyone = Client.objects.for_salon(salon)
    sounds_alike = None
    for typed in search_text.readings(text, region=salon.region):
        clients: QuerySet[Client] = everyone
        if typed.born:
            clients = _born(clients, salon, typed.born)
        if typed.email:
            yield _having(clients, salon, {search_index.EMAIL + typed.email})
        elif typed.digits:
            yield from _with_phone(clients, salon, typed)
        elif typed.words:
            yield from _with_words(clients, salon, typed.words)
            sounds_alike = sounds_alike or _sounding_like(clients, salon, typed.words)
        elif typed.born:
            yield clients
    if sounds_alike is not None:
        yield sounds_alike


def _with_words(
    clients: QuerySet[Client], salon: Salon, words: Sequence[str]
) -> Iterator[QuerySet[Client]]:
    """Yield the clients with a word for each beginning, at first of short ones the latest."""
    if all(len(word) <= _SHORT for word in words):
        yield _booked_last(clients, salon, words)
    yield _having_words(clients, salon, words)


def _with_phone(
    clients: QuerySet[Client], salon: Salon, typed: search_text.Typed
) -> Iterator[QuerySet[Client]]:
    """Yield the clients whose phone has some digits, and whose name the words, if any."""
    for beginnings in _of_phone(typed.digits):
        if typed.words:
            yield _having_words(clients, salon, typed.words, _begins(beginnings))
        else:
            yield _having(clients, salon, beginnings)


def _of_phone(digits: frozenset[str]) -> Iterator[set[str]]:
    """Yield the keys of a phone number that begins, ends, or goes on with some digits."""
    if any(len(d) > 2 for d in digits):
        yield {search_index.PHONE + d for d in digits if len(d) > 2}
    yield {search_index.BACKWARDS + d[::-1] for d in digits}
    long = {d for d in digits if len(d) >= search_text.SHORTEST_MIDDLE}
    if long:
        yield {search_index.MIDDLE + d for d in long}


def _born(clients: QuerySet[Client], salon: Salon, born: search_text.Born) -> QuerySet[Client]:
    if born.birthday:
        return _having(clients, salon, {search_index.BIRTHDAY + born.birthday})
    return clients.filter(birth_date__range=(born.first, born.last))


def _sounding_like(
    clients: QuerySet[Client], salon: Salon, words: tuple[str, ...]
) -> QuerySet[Client] | None:
    """Return clients whose name has no written vowels and the typed consonants."""
    bones = [search_text.skeleton(word) for word in words if word.isascii()]
    if len(bones) != len(words) or any(len(bone) < 2 for bone in bones):
        return None
    found = clients
    for bone in bones:
        found = _having(found, salon, {search_index.SKELETON + bone})
    return found


def _words(text: str) -> list[str]:
    return re.findall(r"[^\W_]+", searchable(text))[: search_text.MOST_WORDS]


def _with_mistakes(salon: Salon, text: str) -> QuerySet[Client]:
    """Return clients whose words begin like the typed ones but for one mistake each."""
    words = _words(text)
    clients = Client.objects.for_salon(salon)
    guesses = [_guesses(salon, word) for word in words]
    if not any(guesses):
        return clients.none()
    ordered = sorted(zip(words, guesses, strict=True), key=lambda each: not each[1])
    lead, *rest = (_begins({word}) | Q(key__in=near) for word, near in ordered)
    rows = SearchKey.objects.filter(lead, salon=salon).order_by()
    for means in rest:
        rows = rows.filter(_also(means, of=OuterRef("client")))
    return clients.filter(_owns(rows))


def _booked_last(
    clients: QuerySet[Client], salon: Salon, words: Sequence[str]
) -> QuerySet[Client]:
    """Return those who were booked last, of them who has a word for each beginning.

    A short beginning leads to too many to rank them all.
    """
    booked = Client.objects.for_salon(salon).filter(last_booked_at__isnull=False)
    found = clients.filter(_among(booked.order_by("-last_booked_at").values("pk")[:_LATEST]))
    for word in words:
        found = found.filter(_also(_begins({word}), of=OuterRef("pk")))
    return found


def _having_words(
    clients: QuerySet[Client], salon: Salon, words: Sequence[str], *others: Q
) -> QuerySet[Client]:
    """Return clients with a word for each beginning; the rarest key leads the search.

    `others` are keys that they have besides.
    """
    ordered = sorted(words, key=len, reverse=True)
    rest = ordered[1:]
    lead = ordered[0]
    if len(ordered) > 1 and len(ordered[1]) > 1:
        lead, rest = search_index.pair(*ordered[:2]), ordered
    rows = _keys(salon, {lead})
    for means in (*(_begins({word}) for word in rest), *others):
        rows = rows.filter(_also(means, of=OuterRef("client")))
    is_alone = not rest and not others
    return clients.filter(_owns(rows, _SHORT_CAP if is_alone and len(lead) <= _SHORT else _CAP))


def _having(clients: QuerySet[Client], salon: Salon, beginnings: set[str]) -> QuerySet[Client]:
    """Return clients with a key that begins in one of some ways."""
    return clients.filter(_owns(_keys(salon, beginnings)))


def _keys(salon: Salon, beginnings: set[str]) -> QuerySet[SearchKey]:
    return SearchKey.objects.filter(_begins(beginnings), salon=salon).order_by()


def _owns(rows: QuerySet[SearchKey], most: int = _CAP) -> Q | Func:
    """Return "has one of these keys", of so many at most."""
    return _among(rows.values("client_id")[:most])


def _among(owners: QuerySet[Any, Any]) -> Q | Func:
    """Return "is one of these few".

    PostgreSQL reads all clients of a large salon rather than to look up those of a joined
    subquery; what it gets as an array it looks up.
    """
    if connection.vendor != "postgresql":
        return Q(pk__in=owners)
    return Func(
        F("pk"),
        Subquery(owners, template="ANY(ARRAY(%(subquery)s))"),
        template="%(expressions)s",
        arg_joiner=" = ",
        output_field=BooleanField(),
    )


def _also(means: Q, *, of: OuterRef) -> Exists:
    """Return whether a client has another key."""
    return Exists(SearchKey.objects.filter(means, client=of))


def _begins(beginnings: set[str]) -> Q:
    """Return "begins with", in the form that each database answers from the index."""
    matches = Q()
    for beginning in beginnings:
        if connection.vendor == "postgresql":
            matches |= Q(key__startswith=beginning)
        else:
            matches |= Q(key__gte=beginning, key__lt=beginning + "\U0010ffff")
    return matches


def _ranked(clients: QuerySet[Client], most: int) -> QuerySet[Client]:
    ordered = clients.order_by(F("last_booked_at").desc(nulls_last=True), "search_name", "pk")
    return ordered.select_related("merged_into")[:most]


def _merged_into_roots(clients: Iterable[Client]) -> Iterator[Client]:
    for client in clients:
        yield person.root(client)


def _guesses(salon: Salon, word: str) -> list[str]:
    """Return words in use that begin like the typed one but for one mistake, nearest first."""
    if len(word) < search_index.SHORTEST_WITH_MISTAKE:
        return []
    rows = SearchVariant.objects.filter(
        salon=salon, variant__in=search_index.variants(word[: search_index.LONGEST_BEGINNING])
    )
    near = {w for w in rows.values_list("word", flat=True)[:_CAP] if _is_near(word, w)}
    return sorted(near, key=lambda w: (abs(len(w) - len(word)), w))[:_MOST_GUESSES]


def _is_near(typed: str, word: str) -> bool:
    """Return whether some beginning of the word is one mistake away from what was typed."""
    lengths = range(max(1, len(typed) - 1), min(len(word), len(typed) + 1) + 1)
    return any(_one_mistake(typed, word[:length]) for length in lengths)


def _one_mistake(a: str, b: str) -> bool:
    """Return whether one letter was changed, added, left out, or swapped with its neighbour."""
    if a == b:
        return True
    if abs(len(a) - len(b)) > 1:
        return False
    start = next((i for i, (x, y) in enumerate(zip(a, b, strict=False)) if x != y), None)
    if start is None:
        return True
    rest_a, rest_b = a[start:], b[start:]
    return (
        rest_a[1:] == rest_b[1:]
        or rest_a[1:] == rest_b
        or rest_a == rest_b[1:]
        or (rest_a[:2] == rest_b[1::-1] and rest_a[2:] == rest_b[2:])
    )
