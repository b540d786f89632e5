"""The names of a salon's lines and of its team, by id."""

from typing import NamedTuple

from formulas.models import ProductLine
from salon.models import Salon, Staff
from salon.reading_once import read_once


class Names(NamedTuple):
    """Names by id, of all that there ever were."""

    lines: dict[int, str]
    staff: dict[int, str]


@read_once
def lines_and_team(salon: Salon) -> Names:
    """Return the names of lines and of the team by id; two queries."""
    return Names(
        dict(ProductLine.objects.filter(salon=salon).values_list("pk", "name")),
        dict(Staff.objects.filter(salon=salon).values_list("pk", "display_name")),
    )
