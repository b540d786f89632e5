"""How a client is found: by the beginnings of what is known of them.

Every word of a name, the digits of the phone (from the front, with and without its country
code, and from the back) and the e-mail address are kept as keys, one row each, behind an
ordinary index that serves "begins with" on both databases. A typing mistake is found by
leaving out one letter on both sides (the symmetric deletion idea of W. Garbe's SymSpell,
2012): beginnings of the words in use are kept with each letter left out in turn, and what
they lead to is checked by the real distance. No extension of either database is needed.
"""

import datetime as dt
import re
from collections.abc import Iterable, Iterator
from itertools import combinations

import phonenumbers
from django.conf import settings
from django.db import connection
from django.db.models import Exists, F, OuterRef, Q, QuerySet

from clients.models import Client, SearchKey, SearchVariant
from clients.models.client import searchable
from salon.models import Salon

_CAP = 3000  # of a short beginning, that many are ranked
_SHORTEST_WITH_MISTAKE = 4
_LONGEST_BEGINNING = 8
_PHONE, _BACKWARDS, _EMAIL, _PAIR = "#", "<", "@", "&"
_MOST_GUESSES = 40
_MOST_WORDS = 5


def words_of(client: Client) -> set[str]:
    """Return the words of a client's names, as they are matched.

    O'Sullivan is found as "o", as "sullivan" and as "osullivan".
    """
    plain = searchable(f"{client.name} {client.known_as}")
    joined = (re.sub(r"[\W_]+", "", part) for part in plain.split())
    return {*re.findall(r"[^\W_]+", plain), *joined} - {""}


def keys_of(client: Client) -> set[str]:
    """Return every key under which a client is found."""
    keys = {word[:120] for word in words_of(client)}
    keys |= {
        _pair(a, b) for a, b in combinations(sorted(keys)[:8], 2) if min(len(a), len(b)) > 1
    }
    if client.phone:
        national = str(getattr(client.phone, "national_number", "") or "")
        full = "".join(c for c in str(client.phone) if c.isdigit())
        keys |= {_PHONE + number for number in (national, full) if number}
        keys.add(_BACKWARDS + full[::-1])
    if client.email:
        keys.add((_EMAIL + client.email.casefold())[:120])
    return keys


def _pair(a: str, b: str) -> str:
    """Return the key of two words that stand together: two letters of each, in order."""
    first, second = sorted((a[:2], b[:2]))
    return f"{_PAIR}{first}{second}"


def index(clients: Iterable[Client]) -> None:
    """Bring the keys of some clients up to date."""
    chosen = list(clients)
    wanted = {(c.salon_id, c.pk, key) for c in chosen for key in keys_of(c)}
    standing = {
        (row.salon_id, row.client_id, row.key): row.pk
        for row in SearchKey.objects.filter(client__in=[c.pk for c in chosen])
    }
    stale = [pk for key, pk in standing.items() if key not in wanted]
    if stale:
        SearchKey.objects.filter(pk__in=stale).delete()
        _forget_words({(s, k) for (s, c, k) in standing if (s, c, k) not in wanted})
    fresh = sorted(wanted - set(standing))
    SearchKey.objects.bulk_create(
        (SearchKey(salon_id=s, client_id=c, key=k) for s, c, k in fresh), batch_size=2000
    )
    _index_words({(salon, key) for salon, _client, key in fresh if key[0].isalpha()})


def _forget_words(words: set[tuple[int, str]]) -> None:
    """Drop the variants of words that nobody has any more."""
    for salon, word in sorted(words):
        if not SearchKey.objects.filter(salon=salon, key=word).exists():
            SearchVariant.objects.filter(salon=salon, word=word).delete()


def _index_words(words: set[tuple[int, str]]) -> None:
    """Keep the variants of words that are new to a salon."""
    for salon in {salon for salon, _word in words}:
        own = sorted(word for of, word in words if of == salon)
        for start in range(0, len(own), 500):
            some = own[start : start + 500]
            rows = SearchVariant.objects.filter(salon=salon, word__in=some)
            words -= {(salon, word) for word in rows.values_list("word", flat=True)}
    fresh = [
        SearchVariant(salon_id=salon, variant=variant, word=word)
        for salon, word in sorted(words)
        for variant in sorted(_kept_variants(word))
    ]
    SearchVariant.objects.bulk_create(fresh, batch_size=2000, ignore_conflicts=True)


def _kept_variants(word: str) -> set[str]:
    """Return what is stored for a word: its beginnings, whole and with one letter left out."""
    found: set[str] = set()
    longest = min(len(word), _LONGEST_BEGINNING)
    for length in range(_SHORTEST_WITH_MISTAKE - 1, longest + 1):
        found |= _variants(word[:length])
    return found


def _variants(beginning: str) -> set[str]:
    shorter = {beginning[:i] + beginning[i + 1 :] for i in range(len(beginning))}
    return {beginning, *shorter}


def find(*, salon: Salon, text: str, most: int) -> list[Client]:
    """Return the clients that the text leads to; who was booked last stands first."""
    text = text.strip()[:100]
    if not text:
        return _latest(salon, most)
    found: dict[int, Client] = {}
    for matches in _ways(salon, text):
        for client in _standing_for(_ranked(matches, most)):
            found.setdefault(client.pk, client)
        if len(found) >= most:
            break
    if not found:
        for client in _standing_for(_ranked(_with_mistakes(salon, text), most)):
            found.setdefault(client.pk, client)
    return list(found.values())[:most]


def _latest(salon: Salon, most: int) -> list[Client]:
    """Return who was booked last, then the others by name."""
    everyone = Client.objects.for_salon(salon).not_merged()
    regulars = everyone.filter(last_booked_at__isnull=False).order_by("-last_booked_at")
    found = list(regulars[:most])
    others = everyone.filter(last_booked_at__isnull=True)
    return [*found, *others[: most - len(found)]]


def _ways(salon: Salon, text: str) -> Iterator[QuerySet[Client]]:
    """Yield the readings of a text, the likeliest first."""
    clients = Client.objects.for_salon(salon)
    born = _birth_date(text)
    if born:
        yield clients.filter(birth_date=born)
    digits = _digits(text)
    if digits:
        yield _having(clients, salon, {_PHONE + d for d in digits})
        yield _having(clients, salon, {_BACKWARDS + d[::-1] for d in digits})
    elif "@" in text:
        yield _having(clients, salon, {_EMAIL + text.casefold()})
    elif words := _words(text):
        yield _having_words(clients, salon, words)
        yield _having(clients, salon, {_EMAIL + text.casefold()})


def _words(text: str) -> list[str]:
    return re.findall(r"[^\W_]+", searchable(text))[:_MOST_WORDS]


def _with_mistakes(salon: Salon, text: str) -> QuerySet[Client]:
    """Return clients whose words begin like the typed ones but for one mistake each."""
    words = _words(text)
    clients = Client.objects.for_salon(salon)
    guesses = [_guesses(salon, word) for word in words]
    if not any(guesses):
        return clients.none()
    ordered = sorted(zip(words, guesses, strict=True), key=lambda each: not each[1])
    for place, (word, near) in enumerate(ordered):
        means = _begins({word}) | Q(key__in=near)
        if place == 0:
            rows = SearchKey.objects.filter(means, salon=salon).order_by()
            clients = clients.filter(pk__in=rows.values("client_id")[:_CAP])
        else:
            clients = clients.filter(_also(means))
    return clients


def _having_words(
    clients: QuerySet[Client], salon: Salon, words: list[str]
) -> QuerySet[Client]:
    """Return clients with a word for each beginning; the rarest key leads the search."""
    ordered = sorted(words, key=len, reverse=True)
    rest = ordered[1:]
    lead = ordered[0]
    if len(ordered) > 1 and len(ordered[1]) > 1:
        lead, rest = _pair(*ordered[:2]), ordered
    found = _having(clients, salon, {lead})
    for word in rest:
        found = found.filter(_also(_begins({word})))
    return found


def _having(clients: QuerySet[Client], salon: Salon, beginnings: set[str]) -> QuerySet[Client]:
    """Return clients with a key that begins in one of some ways."""
    rows = SearchKey.objects.filter(_begins(beginnings), salon=salon).order_by()
    return clients.filter(pk__in=rows.values("client_id")[:_CAP])


def _also(means: Q) -> Exists:
    return Exists(SearchKey.objects.filter(means, client=OuterRef("pk")))


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


def _standing_for(clients: Iterable[Client]) -> Iterator[Client]:
    for client in clients:
        yield client.merged_into or client


def _guesses(salon: Salon, word: str) -> list[str]:
    """Return words in use that begin like the typed one but for one mistake, nearest first."""
    if len(word) < _SHORTEST_WITH_MISTAKE:
        return []
    rows = SearchVariant.objects.filter(
        salon=salon, variant__in=_variants(word[:_LONGEST_BEGINNING])
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


def _digits(text: str) -> set[str]:
    """Return what a phone number may begin or end with as it is stored, or nothing."""
    if re.search(r"[^\d\s()+./-]", text):
        return set()
    digits = "".join(c for c in text if c.isdigit())
    if len(digits) < 3:
        return set()
    found = {digits, digits.lstrip("0")} - {""}
    try:
        number = phonenumbers.parse(text, settings.PHONENUMBER_DEFAULT_REGION)
        found.add(str(number.national_number))
    except phonenumbers.NumberParseException:
        pass
    return found


def _birth_date(text: str) -> dt.date | None:
    """Return a date written with the day first, or as ISO 8601."""
    for pattern in (
        r"(?P<d>\d{1,2})[./\s-](?P<m>\d{1,2})[./\s-](?P<y>\d{4})",
        r"(?P<y>\d{4})-(?P<m>\d{1,2})-(?P<d>\d{1,2})",
    ):
        match = re.fullmatch(pattern, text.strip())
        if match:
            try:
                return dt.date(int(match["y"]), int(match["m"]), int(match["d"]))
            except ValueError:
                return None
    return None
