"""What someone typed into a form of the desk and did not save."""

import datetime as dt
from dataclasses import dataclass

from clients.models import DeskDraft
from salon.models import Staff

_KEPT_FOR = dt.timedelta(days=1)


@dataclass(frozen=True)
class Typed:
    """A form as it was left: values by field name, and when."""

    values: dict[str, str]
    at: dt.datetime


def typed_before(*, address: str, by: Staff, at: dt.datetime) -> Typed | None:
    """Return what this person left in a page's form within a day, or None."""
    draft = DeskDraft.objects.filter(
        staff=by, address=address, updated_at__gt=at - _KEPT_FOR
    ).first()
    return Typed(dict(draft.fields), draft.updated_at) if draft else None
