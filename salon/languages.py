"""Which language is spoken: the reader's on screens, the client's on what clients get.

A name that is not offered (any more) counts as no choice, so that a language can be added
to the settings, or taken out, without touching a row.
"""

from collections.abc import Iterator
from contextlib import contextmanager

from django.conf import settings
from django.http import HttpRequest
from django.utils import translation


def choices() -> list[tuple[str, str]]:
    """Return the languages on offer, each by its own name."""
    named = []
    for code, name in settings.LANGUAGES:
        with translation.override(code):
            named.append((code, str(name)))
    return named


def first_known(*codes: str) -> str:
    """Return the first of `codes` that is on offer, or the product's own language."""
    offered = {code for code, _name in settings.LANGUAGES}
    return next((code for code in codes if code in offered), settings.LANGUAGE_CODE)


def of_reader(request: HttpRequest) -> str:
    """Return what the reader chose; before that, what the cookie or the browser says."""
    user = getattr(request, "user", None)
    chosen = user.language if user and user.is_authenticated else ""
    return first_known(chosen, translation.get_language_from_request(request))


@contextmanager
def speaking(*codes: str) -> Iterator[str]:
    """Speak the first of `codes` that is on offer, in words, numbers and dates."""
    code = first_known(*codes)
    with translation.override(code):
        yield code
