"""How a client is found: by the beginnings of what is known of them.

Every word of a name (also in Latin letters), the digits of the phone (from the front, with
and without its country code, from the back, and from each digit on), the birthday and the
e-mail address are kept as keys, one row each, behind an ordinary index that serves "begins
with" on both databases. A typing mistake is found by
leaving out one letter on both sides (symmetric deletion, W. Garbe 2012, from memory):
beginnings of the words in use are kept with each letter left out in turn, and what
they lead to is checked by the real distance. No extension of either database is needed.
"""

import re
import unicodedata
from collections.abc import Iterable
from itertools import combinations

from anyascii import anyascii

from clients.models import Client, SearchKey, SearchVariant
from clients.models.client import searchable
from clients.people.search_text import SHORTEST_MIDDLE, skeleton

SHORTEST_WITH_MISTAKE = 4
LONGEST_BEGINNING = 8
PHONE, BACKWARDS, MIDDLE, EMAIL, PAIR = "#", "<", "%", "@", "&"
BIRTHDAY, SKELETON = "!", "~"


def words_of(client: Client) -> set[str]:
    """Return the words of a client's names, as they are matched.

    O'Sullivan is found as "o", as "sullivan" and as "osullivan"; a name in another script
    also in Latin letters; a name that is written without spaces also from its middle.
    """
    plain = searchable(f"{client.name} {client.known_as}")
    joined = (re.sub(r"[\W_]+", "", part) for part in plain.split())
    words = {*re.findall(r"[^\W_]+", plain), *joined} - {""}
    other_scripts = [word for word in words if not word.isascii()]
    for word in other_scripts:
        words |= _in_latin_letters(word)
        if _is_unspaced(word):
            words |= {word[start:] for start in range(1, len(word))}
    return words


def _in_latin_letters(word: str) -> set[str]:
    """Return a word in Latin letters; syllables also each and joined from every one on.

    王小明 becomes WangXiaoMing: "wang", "xiao", "ming", "xiaoming" and "wangxiaoming".
    """
    latin = anyascii(word)
    parts = [part.lower() for part in re.findall(r"[A-Z]?[a-z]+", latin)]
    from_each = {"".join(parts[start:]) for start in range(len(parts))}
    return {*parts, *from_each} - {""}


def _is_unspaced(word: str) -> bool:
    """Return whether a word is in a script that writes no space between names."""
    return all(unicodedata.name(c, "").startswith(("CJK", "HANGUL", "HIRAGANA", "KATAKANA"))
               for c in word)  # fmt: skip


def _skeletons(words: set[str]) -> set[str]:
    """Return the consonants of words whose script leaves vowels out, and without an article."""
    unvowelled = {
        word for word in words if unicodedata.name(word[0], "").startswith(("ARABIC", "HEBREW"))
    }
    found = {skeleton(form) for word in unvowelled for form in (word, word.removeprefix("ال"))}
    return {bone for bone in found if len(bone) > 1}


def keys_of(client: Client) -> set[str]:
    """Return every key under which a client is found."""
    words = words_of(client)
    keys = {word[:120] for word in words}
    keys |= {
        pair(a, b) for a, b in combinations(sorted(keys)[:8], 2) if min(len(a), len(b)) > 1
    }
    keys |= {SKELETON + bone[:100] for bone in _skeletons(words)}
    if client.phone:
        national = str(getattr(client.phone, "national_number", "") or "")
        full = "".join(c for c in str(client.phone) if c.isdigit())
        keys |= {PHONE + number for number in (national, full) if number}
        keys.add(BACKWARDS + full[::-1])
        ends = (full[start:] for start in range(1, len(full) - SHORTEST_MIDDLE + 1))
        keys |= {MIDDLE + end for end in ends}
    if client.email:
        keys.add((EMAIL + client.email.casefold())[:120])
    if client.birth_date:
        keys.add(f"{BIRTHDAY}{client.birth_date:%m%d}")
    return keys


def pair(a: str, b: str) -> str:
    """Return the key of two neighbouring words: two letters of each, in order."""
    first, second = sorted((a[:2], b[:2]))
    return f"{PAIR}{first}{second}"


def index(clients: Iterable[Client]) -> None:
    """Bring the keys of some clients up to date."""
    chosen = list(clients)
    wanted = {(c.salon_id, c.pk, key) for c in chosen for key in keys_of(c)}
    indexed = {
        (row.salon_id, row.client_id, row.key): row.pk
        for row in SearchKey.objects.filter(client__in=[c.pk for c in chosen])
    }
    stale = [pk for key, pk in indexed.items() if key not in wanted]
    if stale:
        SearchKey.objects.filter(pk__in=stale).delete()
        _forget_words({(s, k) for (s, c, k) in indexed if (s, c, k) not in wanted})
    fresh = sorted(wanted - set(indexed))
    SearchKey.objects.bulk_create(
        (SearchKey(salon_id=s, client_id=c, key=k) for s, c, k in fresh), batch_size=2000
    )
    _index_words({(salon, key) for salon, _client, key in fresh if key[0].isalpha()})


def forget(clients: Iterable[Client]) -> None:
    """Drop the keys of clients that are about to go, and words that nobody has then."""
    indexed = SearchKey.objects.filter(client__in=[client.pk for client in clients])
    words = set(indexed.values_list("salon_id", "key"))
    indexed.delete()
    for salon in {salon for salon, _key in words}:
        of_salon = sorted(key for of, key in words if of == salon and key[0].isalpha())
        for start in range(0, len(of_salon), 500):
            some = of_salon[start : start + 500]
            left = SearchKey.objects.filter(salon=salon, key__in=some).values("key")
            removed = SearchVariant.objects.filter(salon=salon, word__in=some)
            removed.exclude(word__in=left).delete()


def _forget_words(words: set[tuple[int, str]]) -> None:
    """Drop the variants of words that nobody has any more."""
    for salon, word in sorted(words):
        if not SearchKey.objects.filter(salon=salon, key=word).exists():
            SearchVariant.objects.filter(salon=salon, word=word).delete()


def _index_words(words: set[tuple[int, str]]) -> None:
    """Keep the variants of words that are new to a salon."""
    for salon in {salon for salon, _word in words}:
        of_salon = sorted(word for of, word in words if of == salon)
        for start in range(0, len(of_salon), 500):
            some = of_salon[start : start + 500]
            rows = SearchVariant.objects.filter(salon=salon, word__in=some)
            words -= {(salon, word) for word in rows.values_list("word", flat=True)}
    fresh = [
        SearchVariant(salon_id=salon, variant=variant, word=word)
        for salon, word in sorted(words)
        for variant in sorted(kept_variants(word))
    ]
    SearchVariant.objects.bulk_create(fresh, batch_size=2000, ignore_conflicts=True)


def kept_variants(word: str) -> set[str]:
    """Return what is stored for a word: its beginnings, whole and with one letter left out."""
    found: set[str] = set()
    longest = min(len(word), LONGEST_BEGINNING)
    for length in range(SHORTEST_WITH_MISTAKE - 1, longest + 1):
        found |= variants(word[:length])
    return found


def variants(beginning: str) -> set[str]:
    shorter = {beginning[:i] + beginning[i + 1 :] for i in range(len(beginning))}
    return {beginning, *shorter}
