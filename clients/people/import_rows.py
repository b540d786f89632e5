"""One row of an imported list: what becomes of it, and whether its person is on record."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any, TypeVar

from django.db.models import QuerySet
from django.db.models.deletion import CASCADE, SET_NULL
from django.utils.translation import gettext as _

from clients.models import Client
from clients.models.client import searchable
from clients.people import import_dates, import_values
from clients.people.csv_file import plain
from clients.people.import_headings import FIELDS, guess
from clients.people.import_values import SetAside
from salon.models import Salon
from salon.refusals import Refused

__all__ = [
    "FIELDS",
    "Known",
    "Person",
    "RowRefused",
    "SortedRows",
    "date_order_of",
    "guess",
    "person_of",
    "sort_out",
    "unused",
]


T = TypeVar("T")


class RowRefused(Refused):
    """Raised with the reason why a row is not taken in."""


@dataclass(frozen=True)
class Fields:
    """What a row says of a client; what it does not say is empty."""

    name: str
    known_as: str = ""
    phone: str = ""
    email: str = ""
    birth_date: dt.date | None = None
    note: str = ""


@dataclass(frozen=True)
class Person:
    """A row as a client: the fields, and the values that have to be corrected first."""

    fields: Fields
    set_aside: list[SetAside]

    @property
    def search_name(self) -> str:
        return searchable(f"{self.fields.name} {self.fields.known_as}")[:200]


def person_of(
    cells: list[str],
    *,
    mapping: dict[str, str],
    date_order: str,
    broken: bool,
    today: dt.date,
    region: str = "",
) -> Person:
    """Return the person of a row, or refuse the row with its reason.

    Only a name is needed: any other value that cannot be read is set aside.
    """
    if broken:
        raise RowRefused(
            _("Some characters in this row cannot be read. Choose another character set."),
            code="unknown_characters",
        )
    row = dict.fromkeys(FIELDS, "")
    for number, name in mapping.items():
        if name in row and int(number) < len(cells):
            row[name] = " ".join(plain(cells[int(number)]).split())
    row["name"] = " ".join(filter(None, (row.pop("first_name"), row["name"])))
    if not row["name"]:
        raise RowRefused(_("The name is missing."), code="no_name")
    set_aside = []

    def kept(name: str, found: tuple[T, str]) -> T:
        value, problem = found
        if problem:
            set_aside.append(SetAside(name, row[name], problem))
        return value

    def text(name: str) -> str:
        return kept(name, import_values.shortened(name, row[name])) if row[name] else ""

    phone, email, born = row["phone"], row["email"], row["birth_date"]
    fields = Fields(
        name=text("name"),
        known_as=text("known_as"),
        phone=kept("phone", import_values.phone(phone, region=region)) if phone else "",
        email=kept("email", import_values.email(email)) if email else "",
        birth_date=kept(
            "birth_date", import_values.birth_date(born, order=date_order, today=today)
        )
        if born
        else None,
        note=text("note"),
    )
    return Person(fields, set_aside)


def date_order_of(rows: Iterable[list[Any]], mapping: dict[str, str]) -> str:
    """Return which comes first, day or month, in the column of birth dates."""
    column = next((int(n) for n, name in mapping.items() if name == "birth_date"), None)
    if column is None:
        return import_dates.DAY_FIRST
    return import_dates.order_of(
        cells[column] for _broken, *cells in rows if column < len(cells)
    )


@dataclass(frozen=True)
class SortedRows:
    """Rows sorted into people to add and rows refused, by number, with their reasons."""

    people: list[Person]
    refused: list[tuple[int, str]]
    duplicates: int  # of those refused: whoever is a client already


def sort_out(
    rows: list[list[Any]], *, salon: Salon, mapping: dict[str, str], date_order: str,
    today: dt.date,
) -> SortedRows:  # fmt: skip
    """Return what becomes of some rows (each led by whether its letters are broken)."""
    read: dict[int, Person] = {}
    refused = []
    for number, (broken, *cells) in enumerate(rows):
        try:
            read[number] = person_of(
                cells,
                mapping=mapping,
                date_order=date_order,
                broken=broken,
                today=today,
                region=salon.region,
            )
        except RowRefused as refusal:
            refused.append((number, str(refusal)))
    known = Known.of(salon, read.values())
    people, duplicates = [], 0
    for number, person in read.items():
        try:
            known.add(person)
            people.append(person)
        except RowRefused as refusal:
            refused.append((number, str(refusal)))
            duplicates += 1
    return SortedRows(people, sorted(refused), duplicates)


@dataclass(frozen=True)
class _Entry:
    """What tells two people of one name apart."""

    name: str
    born: dt.date | None
    phone: str
    email: str

    def is_same(self, other: "_Entry") -> bool:
        """Whether two entries mean one person: never by a phone or an address alone.

        Families share both, so the names have to agree, and birth dates must not differ.
        """
        if self.born and other.born and self.born != other.born:
            return False
        shared = (self.phone and self.phone == other.phone) or (
            self.email and self.email == other.email
        )
        words, others = set(self.name.split()), set(other.name.split())
        if self.name != other.name:
            return bool(shared) and (words <= others or others <= words)
        nothing_else = not (self.born or self.phone or self.email)
        return bool(shared or nothing_else or (self.born and self.born == other.born))


@dataclass
class Known:
    """Those on record whom some rows may mean, so that nobody is added twice."""

    entries: dict[str, list[_Entry]] = field(default_factory=dict)

    @classmethod
    def of(cls, salon: Salon, people: Iterable[Person]) -> "Known":
        """Return those of the salon who share a name, a phone or an address with `people`."""
        known, looked_for = cls(), list(people)
        emails = {person.fields.email for person in looked_for} - {""}
        for alike in (  # one query each: an index serves it, where "or" would read everyone
            {"search_name__in": {person.search_name for person in looked_for}},
            {"phone__in": {person.fields.phone for person in looked_for} - {""}},
            {"email__in": emails | {email.casefold() for email in emails}},
        ):
            rows = Client.objects.for_salon(salon).filter(**alike).order_by()
            for phone, email, name, born in rows.values_list(
                "phone", "email", "search_name", "birth_date"
            ):
                known._remember(_Entry(name, born, str(phone or ""), email.casefold()))
        return known

    def add(self, person: Person) -> None:
        """Remember a person, or refuse the row where they are on record."""
        fields = person.fields
        entry = _Entry(
            person.search_name, fields.birth_date, fields.phone, fields.email.casefold()
        )
        if any(entry.is_same(other) for key in _keys(entry) for other in self._at(key)):
            raise RowRefused(_("This person is already a client."), code="already_client")
        self._remember(entry)

    def _at(self, key: str) -> list[_Entry]:
        return self.entries.get(key, [])

    def _remember(self, entry: _Entry) -> None:
        for key in _keys(entry):
            self.entries.setdefault(key, []).append(entry)


def _keys(entry: _Entry) -> list[str]:
    """Return the keys under which an entry is compared with others."""
    return list(filter(None, (f"name {entry.name}", entry.phone, entry.email)))


def unused(clients: QuerySet[Client]) -> QuerySet[Client]:
    """Return clients of whom nothing was recorded: no row of any app points at them."""
    for relation in Client._meta.related_objects:
        if relation.on_delete in {CASCADE, SET_NULL}:
            continue
        pointing = relation.field.model._base_manager.filter(
            **{f"{relation.field.name}__isnull": False}
        )
        clients = clients.exclude(pk__in=pointing.values(relation.field.attname))
    return clients.filter(version=1)
