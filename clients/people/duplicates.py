"""Entries that may be one person: shown at entry, and reviewed in a list."""

from dataclasses import dataclass

from django.db.models import Q, Value
from django.db.models.functions import Upper
from django.utils.translation import gettext as _

from clients.models import Client, PossibleDuplicate
from clients.models.client import searchable
from clients.people.possible_duplicates import may_be_one, shared
from salon.models import Salon

MOST, MOST_ALIKE = 50, 5


@dataclass(frozen=True)
class Pair:
    """Two entries and what they share."""

    first: Client
    second: Client
    shared: str

    @property
    def may_be_one(self) -> bool:
        """Whether they may be one person."""
        return may_be_one(self.first, self.second)

    @property
    def is_household(self) -> bool:
        """Whether they are known to belong together."""
        return self.first.household_id is not None and (
            self.first.household_id == self.second.household_id
        )

    @property
    def both(self) -> tuple[Client, Client]:
        """The two, in the order in which they were registered."""
        return self.first, self.second

    @property
    def ways(self) -> list[tuple[Client, Client]]:
        """Who may be kept, and who would then be merged."""
        return [(self.first, self.second), (self.second, self.first)]


def like(*, salon: Salon, name: str, phone: str, email: str) -> list[Client]:
    """Return entries that share a whole name, a phone number or an e-mail address."""
    register = Client.objects.for_salon(salon).in_register().order_by()
    register = register.alias(capitals=Upper("email"))  # "iexact" is LIKE where no index serves
    found: dict[int, Client] = {}
    for value, same in (  # one question each: its index serves it, where "or" may serve none
        (name, Q(search_name=searchable(name))),
        (phone, Q(phone=phone)),
        (email, Q(capitals=Upper(Value(email)))),
    ):
        if value and len(found) < MOST_ALIKE:
            found |= {client.pk: client for client in register.filter(same)[:MOST_ALIKE]}
    return sorted(found.values(), key=lambda c: (c.search_name, c.pk))[:MOST_ALIKE]


def to_review(*, salon: Salon) -> list[Pair]:
    """Return the latest pairs that nobody has decided about; one query."""
    words = {
        "phone": _("same phone"),
        "email": _("same e-mail"),
        "birth": _("same name and birth date"),
    }
    rows = PossibleDuplicate.objects.filter(salon=salon, is_settled=False)
    rows = rows.select_related("first", "second").order_by("-pk")[:MOST]
    return [Pair(row.first, row.second, words[shared(row.first, row.second)]) for row in rows]
