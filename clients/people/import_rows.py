"""One row of an imported list: what its columns mean, and whether it can be taken in."""

import datetime as dt
import re
from dataclasses import dataclass, field
from typing import Any

import phonenumbers
from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.db.models import QuerySet
from django.db.models.deletion import CASCADE, SET_NULL
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from clients.models import Client
from clients.models.client import searchable
from clients.people.csv_file import plain
from salon.models import Salon

FIELDS = {
    "name": gettext_lazy("name"),
    "first_name": gettext_lazy("first name (joined to the name)"),
    "known_as": gettext_lazy("known as"),
    "phone": gettext_lazy("phone"),
    "email": gettext_lazy("e-mail"),
    "birth_date": gettext_lazy("birth date"),
    "note": gettext_lazy("note for the desk"),
}
_SYNONYMS = {
    "name": "name fullname lastname surname familyname client clientname",
    "first_name": "firstname givenname forename",
    "known_as": "knownas nickname preferredname",
    "phone": "phone mobile telephone tel phonenumber mobilenumber cell",
    "email": "email emailaddress mail",
    "birth_date": "birthdate birthday dateofbirth dob born",
    "note": "note notes comment comments remarks",
}
_MOST = {"name": 120, "known_as": 60, "email": 254, "note": 300}


class RowRefused(Exception):
    """Raised with the reason why a row is not taken in."""


def guess(header: list[str]) -> dict[str, str]:
    """Return what each column (by its number, as text) probably means."""
    found: dict[str, str] = {}
    for number, title in enumerate(header):
        word = re.sub(r"[\W_]+", "", searchable(title))
        for name, synonyms in _SYNONYMS.items():
            if word in synonyms.split() and name not in found.values():
                found[str(number)] = name
    return found


def fields_of(
    cells: list[str],
    *,
    header: list[str],
    mapping: dict[str, str],
    broken: bool,
    today: dt.date,
) -> dict[str, Any]:
    """Return the fields of a client, or refuse the row with its reason."""
    if broken:
        raise RowRefused(_("Letters of this row cannot be read: check the encoding."))
    given = dict.fromkeys(FIELDS, "")
    for number, name in mapping.items():
        if name in given and int(number) < len(header):
            given[name] = " ".join(plain(cells[int(number)]).split())
    name = " ".join(filter(None, (given.pop("first_name"), given["name"])))
    if not name:
        raise RowRefused(_("There is no name."))
    given["name"] = name
    for key, most in _MOST.items():
        if len(given[key]) > most:
            raise RowRefused(_("%(field)s is too long.") % {"field": FIELDS[key]})
    return {
        **given,
        "phone": _phone(given["phone"]),
        "email": _email(given["email"]),
        "birth_date": _birth_date(given["birth_date"], today),
    }


def _phone(text: str) -> str:
    if not text:
        return ""
    try:
        number = phonenumbers.parse(text, settings.PHONENUMBER_DEFAULT_REGION)
    except phonenumbers.NumberParseException:
        number = None
    if number is None or not phonenumbers.is_valid_number(number):
        raise RowRefused(_("This is no phone number: %(text)s") % {"text": text[:30]})
    return phonenumbers.format_number(number, phonenumbers.PhoneNumberFormat.E164)


def _email(text: str) -> str:
    try:
        if text:
            validate_email(text)
    except ValidationError as error:
        raise RowRefused(
            _("This is no e-mail address: %(text)s") % {"text": text[:40]}
        ) from error
    return text


def _birth_date(text: str, today: dt.date) -> dt.date | None:
    if not text:
        return None
    born = None
    for pattern in ("%Y-%m-%d", "%d/%m/%Y", "%d.%m.%Y", "%d-%m-%Y"):
        try:
            born = dt.datetime.strptime(text, pattern).date()  # noqa: DTZ007  a date, no moment
            break
        except ValueError:
            continue
    if born is None or born > today or born.year < today.year - 120:
        raise RowRefused(_("This is no birth date: %(text)s") % {"text": text[:20]})
    return born


@dataclass
class Known:
    """Who is on record already, so that nobody is brought in twice."""

    phones: set[str] = field(default_factory=set)
    emails: set[str] = field(default_factory=set)
    people: set[tuple[str, dt.date | None]] = field(default_factory=set)

    @classmethod
    def of(cls, salon: Salon) -> "Known":
        """Return what the salon has."""
        known = cls()
        rows = Client.objects.for_salon(salon).order_by()
        for phone, email, name, born in rows.values_list(
            "phone", "email", "search_name", "birth_date"
        ).iterator(chunk_size=5000):
            known._remember(str(phone or ""), email, name, born)
        return known

    def add(self, fields: dict[str, Any]) -> None:
        """Remember a row, or refuse it where the person is known."""
        name = searchable(f"{fields['name']} {fields['known_as']}")[:200]
        email = fields["email"].casefold()
        if (name, fields["birth_date"]) in self.people:
            raise RowRefused(_("Someone of this name and birth date is on record."))
        if email and email in self.emails:
            raise RowRefused(_("This e-mail address is on record."))
        if fields["phone"] and fields["phone"] in self.phones:
            raise RowRefused(_("This phone number is on record."))
        self._remember(fields["phone"], email, name, fields["birth_date"])

    def _remember(self, phone: str, email: str, name: str, born: dt.date | None) -> None:
        self.people.add((name, born))
        if phone:
            self.phones.add(phone)
        if email:
            self.emails.add(email.casefold())


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
