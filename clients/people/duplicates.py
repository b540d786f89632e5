"""Entries that may be one person: shown at entry, and reviewed in a list."""

import itertools
from dataclasses import dataclass

from django.db.models import Count, Q, QuerySet
from django.utils.translation import gettext as _

from clients.models import Client, NotTheSame
from clients.models.client import searchable
from salon.models import Salon

MOST = 50


@dataclass(frozen=True)
class Pair:
    """Two entries and what they share."""

    first: Client
    second: Client
    shared: str

    @property
    def may_be_one(self) -> bool:
        """Whether they may be one person: families share phones, not names and birth dates."""
        births = {self.first.birth_date, self.second.birth_date} - {None}
        return self.first.search_name == self.second.search_name and len(births) < 2

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


def like(*, salon: Salon, name: str, phone: str, email: str) -> QuerySet[Client]:
    """Return entries that share a whole name, a phone number or an e-mail address."""
    same = Q(search_name=searchable(name)) if name else Q(pk__in=[])
    if phone:
        same |= Q(phone=phone)
    if email:
        same |= Q(email__iexact=email)
    return Client.objects.for_salon(salon).in_register().filter(same)[:5]


def to_review(*, salon: Salon) -> list[Pair]:
    """Return pairs that nobody has decided about; ten queries at most."""
    clients = Client.objects.for_salon(salon).in_register()
    decided = set(NotTheSame.objects.filter(salon=salon).values_list("first", "second"))
    found: dict[tuple[int, int], Pair] = {}
    for fields, shared in (
        (("phone",), _("same phone")),
        (("email",), _("same e-mail")),
        (("search_name", "birth_date"), _("same name and birth date")),
    ):
        for first, second in _twins(clients, fields):
            key = (first.pk, second.pk)
            if key not in decided and key not in found and len(found) < MOST:
                found[key] = Pair(first, second, shared)
    return list(found.values())


def _twins(clients: QuerySet[Client], fields: tuple[str, ...]) -> list[tuple[Client, Client]]:
    """Return neighbouring pairs of entries that agree in some fields."""
    known = clients.exclude(**{f"{fields[-1]}__isnull": True})
    if fields[0] in {"phone", "email"}:
        known = known.exclude(**{fields[0]: ""})
    groups = known.order_by().values(*fields).annotate(n=Count("pk")).filter(n__gt=1)[:MOST]
    match = Q(pk__in=[])
    for group in groups:
        match |= Q(**{field: group[field] for field in fields})
    by_value: dict[tuple[object, ...], list[Client]] = {}
    for client in clients.filter(match).order_by("pk"):
        by_value.setdefault(tuple(getattr(client, f) for f in fields), []).append(client)
    return [
        (first, second)
        for group in by_value.values()
        for first, second in itertools.pairwise(group)
    ]
