"""The worklist of imported values that have to be corrected."""

from dataclasses import dataclass

from django.db.models import Count, QuerySet

from clients.models import ValueField, ValueToCorrect
from salon.models import Salon

_SHOWN_GROUPS = 20


@dataclass(frozen=True)
class Alike:
    """One text that several clients have in the same field."""

    field: str
    text: str
    count: int

    @property
    def field_name(self) -> str:
        return str(ValueField(self.field).label)


def values_to_correct(*, salon: Salon) -> QuerySet[ValueToCorrect]:
    """Return the values set aside, in the order in which they came, with their clients."""
    found = ValueToCorrect.objects.filter(salon=salon)
    return found.select_related("client__merged_into", "brought_by").defer(
        "brought_by__rows", "brought_by__refused", "brought_by__content"
    )


def values_alike(*, salon: Salon) -> list[Alike]:
    """Return texts that several clients share, most frequent first: "k.A." is no number."""
    found = ValueToCorrect.objects.filter(salon=salon).order_by()
    groups = found.values("field", "text").annotate(n=Count("pk")).filter(n__gt=1)
    return [
        Alike(group["field"], group["text"], group["n"])
        for group in groups.order_by("-n", "field", "text")[:_SHOWN_GROUPS]
    ]
