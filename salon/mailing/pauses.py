"""How long a mail waits that a server did not take: longer after each try."""

import datetime as dt

# Between two tries; the last one goes on until the mail is of no use.
PAUSES = tuple(dt.timedelta(minutes=minutes) for minutes in (1, 5, 15, 60, 240))


def after(tries: int) -> dt.timedelta:
    """Return the pause after so many tries, one at least."""
    return PAUSES[min(tries, len(PAUSES)) - 1]
