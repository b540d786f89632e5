"""The person's last word on keeping health data, across all their entries."""

from collections.abc import Iterable

from clients.models import Consent, ConsentKind


def last_word(entries: Iterable[int]) -> Consent | None:
    """Return the latest consent or withdrawal, or None if nobody was asked yet."""
    rows = Consent.objects.filter(client__in=entries, kind=ConsentKind.HEALTH_RECORD)
    return rows.order_by("-recorded_at", "-pk").first()


def is_withdrawn(entries: Iterable[int]) -> bool:
    """Return whether the person behind the entries does not agree, or no longer."""
    last = last_word(entries)
    return last is not None and not last.is_given
