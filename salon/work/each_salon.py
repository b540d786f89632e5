"""What is done for every salon of an installation, one after another.

What fails in one keeps no other waiting: it is noted, and reported at the end.
"""

import logging
from collections.abc import Callable

from django.core.management import CommandError

from salon import outages
from salon.models import Salon

log = logging.getLogger(__name__)


def for_each_salon(do: Callable[[Salon], None]) -> list[str]:
    """Do something for every salon; return where it failed, in words for the log.

    Words of an error stay in the log: they may hold a client's words. Where the database is
    away or the disk full, no other salon fares better, and the error goes on.
    """
    failed = []
    for salon in Salon.objects.order_by("pk"):
        try:
            do(salon)
        except CommandError as error:
            failed.append(f"{salon}: {error}")
        except Exception as error:
            if outages.is_away(error) or outages.is_full_disk(error):
                raise
            log.exception("salon %s failed; the others go on", salon.pk)
            failed.append(f"{salon}: {type(error).__name__}")
    return failed


def say_failures(failed: list[str]) -> None:
    """End a command with the failures, if there were any."""
    if failed:
        raise CommandError("\n".join(failed))
