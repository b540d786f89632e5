"""Entries that may be one person, kept in pairs as they are written (decision 0084).

To find them afresh, every entry of a salon would be read each time that the list is opened.
So each write looks, by the indexes of its own values, at who else has them. A pair is two
entries of the register that are next to each other among those with one value. Only this
module writes the pairs; they follow from the clients and from what was settled about two.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from itertools import islice, pairwise
from typing import Any

from django.db.models import F, Q, QuerySet, Window
from django.db.models.functions import Lead, Upper

from clients.models import Client, NotTheSame, PossibleDuplicate
from clients.models.client import Shut
from salon.models import Salon

Two = tuple[int, int]
# What two may share: fields that must agree, and be known. Addresses agree in capitals.
SHARED = (("phone",), ("capitals",), ("search_name", "birth_date"))
_PIECE = 500


def shared(first: Client, second: Client) -> str:
    """Return what two have in common: "phone", "email", "birth", or "" for nothing."""
    if first.phone and first.phone == second.phone:
        return "phone"
    if first.email and first.email.upper() == second.email.upper():
        return "email"
    born = first.birth_date is not None and first.birth_date == second.birth_date
    return "birth" if born and first.search_name == second.search_name else ""


def may_be_one(first: Client, second: Client) -> bool:
    """Return whether two may be one person: families share phones, not names and births."""
    births = {first.birth_date, second.birth_date} - {None}
    return first.search_name == second.search_name and len(births) < 2


def refresh(entries: Iterable[int]) -> None:
    """Bring the pairs of some entries up to date, after these were written.

    Whom one was paired with is looked at too: where it has another phone now, or is out of
    the register, those on both sides of it are next to each other.
    """
    chosen = set(entries)
    rows = list(_rows_of(chosen).select_related("first", "second"))
    _review(rows)
    _pair(chosen | {pk for row in rows for pk in (row.first_id, row.second_id)})


def partners(entries: Iterable[int]) -> set[int]:
    """Return who is paired with some entries that are about to be deleted."""
    chosen = set(entries)
    pairs = _rows_of(chosen).values_list("first", "second")
    return {pk for pair in pairs for pk in pair} - chosen


def rebuild(*, salon: Salon) -> int:
    """Bring every pair of a salon up to date; return how many were missing or wrong."""
    rows = PossibleDuplicate.objects.filter(salon=salon).select_related("first", "second")
    mended = sum(_review(piece) for piece in _pieces(rows.order_by("pk").iterator(_PIECE)))
    for fields in SHARED:
        known = _knowing(Client.objects.for_salon(salon).in_register(), fields)
        beside = Window(Lead("pk"), partition_by=[F(f) for f in fields], order_by="pk")
        found = known.order_by().annotate(beside=beside).filter(beside__isnull=False)
        pairs = found.values_list("pk", "beside").iterator(_PIECE)
        mended += sum(_add(piece) for piece in _pieces(pairs))
    return mended


def _pieces(rows: Iterator[Any]) -> Iterator[list[Any]]:
    while piece := list(islice(rows, _PIECE)):
        yield piece


def _rows_of(entries: set[int]) -> QuerySet[PossibleDuplicate]:
    return PossibleDuplicate.objects.filter(
        Q(first__in=entries) | Q(second__in=entries)
    ).order_by()


def _knowing(clients: QuerySet[Client], fields: tuple[str, ...]) -> QuerySet[Client]:
    """Return clients of whom some fields are known."""
    known = clients.annotate(capitals=Upper("email"))
    if fields[-1] == "birth_date":
        return known.filter(birth_date__isnull=False)
    return known.exclude(**{fields[0]: ""})


def _review(rows: list[PossibleDuplicate]) -> int:
    """Drop pairs that hold no more and say which are settled; return how many changed."""
    dropped = [row.pk for row in rows if not _holds(row)]
    left = [row for row in rows if _holds(row)]
    settled = _settled([(row.first, row.second) for row in left])
    changed = [r for r in left if r.is_settled != ((r.first_id, r.second_id) in settled)]
    if dropped:
        PossibleDuplicate.objects.filter(pk__in=dropped).delete()
    for row in changed:
        PossibleDuplicate.objects.filter(pk=row.pk).update(is_settled=not row.is_settled)
    return len(dropped) + len(changed)


def _holds(row: PossibleDuplicate) -> bool:
    return bool(shared(row.first, row.second)) and all(
        one.merged_into_id is None and one.shut != Shut.ERASED
        for one in (row.first, row.second)
    )


def _settled(pairs: list[tuple[Client, Client]]) -> set[Two]:
    """Return the pairs that nobody is to be asked about: two people, or a family's."""
    if not pairs:
        return set()
    apart = NotTheSame.objects.filter(first__in=[first.pk for first, _second in pairs])
    found = set(apart.order_by().values_list("first", "second"))
    for first, second in pairs:
        together = first.household_id is not None and first.household_id == second.household_id
        if together and not may_be_one(first, second):
            found.add((first.pk, second.pk))
    return found


def _pair(chosen: set[int]) -> None:
    """Add the pairs that some entries of the register make with those beside them."""
    register = Client.objects.in_register().annotate(capitals=Upper("email")).order_by()
    names = ("phone", "capitals", "search_name", "birth_date")
    theirs: dict[int, list[dict[str, Any]]] = defaultdict(list)
    for row in register.filter(pk__in=chosen).values("salon", *names):
        theirs[row["salon"]].append(row)
    pairs: set[Two] = set()
    for salon, rows in theirs.items():
        for fields in SHARED:
            values = {row[fields[0]] for row in rows if row[fields[-1]]}
            for piece in _pieces(iter(sorted(values, key=str))):
                alike = _knowing(register.filter(salon=salon), fields)
                alike = alike.filter(**{f"{fields[0]}__in": piece}).order_by("pk")
                groups: dict[tuple[Any, ...], list[int]] = defaultdict(list)
                for pk, *value in alike.values_list("pk", *fields):
                    groups[tuple(value)].append(pk)
                pairs |= {pair for group in groups.values() for pair in pairwise(group)}
    for some in _pieces(iter(sorted(pair for pair in pairs if not chosen.isdisjoint(pair)))):
        _add(some)


def _add(pairs: list[Two]) -> int:
    """Add the pairs that are not there yet; return how many these were."""
    there = PossibleDuplicate.objects.filter(
        first__in=[first for first, _second in pairs]
    ).order_by()
    fresh = set(pairs) - set(there.values_list("first", "second"))
    if not fresh:
        return 0
    people = Client.objects.in_bulk([pk for pair in fresh for pk in pair])
    both = [
        (people[first], people[second])
        for first, second in sorted(fresh)
        if first in people and second in people  # one may have been deleted since
    ]
    settled = _settled(both)
    PossibleDuplicate.objects.bulk_create(
        (
            PossibleDuplicate(
                salon_id=first.salon_id, first=first, second=second,
                is_settled=(first.pk, second.pk) in settled,
            )
            for first, second in both
        ),
        ignore_conflicts=True,  # whoever writes at the same moment adds the same
    )  # fmt: skip
    return len(fresh)
