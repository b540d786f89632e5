"""The address of the booking page with what is known already filled in."""

import datetime as dt
from urllib.parse import urlencode

from django.urls import reverse


def book_address(
    *, at: dt.datetime | None = None, day: dt.date | None = None, **rows: int | None
) -> str:
    """Return it for a moment in the salon's time or a day; `rows` names a client, say."""
    known: dict[str, object] = {name: pk for name, pk in rows.items() if pk is not None}
    if at is not None:
        known |= {"day": at.date().isoformat(), "time": at.strftime("%H:%M")}
    elif day is not None:
        known["day"] = day.isoformat()
    return f"{reverse('clients:book')}?{urlencode(known, safe=':')}"
