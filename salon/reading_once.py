"""What one page asks for several times on its way is read once, while nothing is written."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from functools import wraps
from typing import Any, ParamSpec, TypeVar

from django.db.models import Model

P = ParamSpec("P")
R = TypeVar("R")

_known: ContextVar[dict[Any, Any] | None] = ContextVar("known", default=None)


@contextmanager
def reading_once() -> Iterator[None]:
    """Keep the answers of reads that are marked `read_once`; hold no write inside."""
    token = _known.set({})
    try:
        yield
    finally:
        _known.reset(token)


def read_once(read: Callable[P, R]) -> Callable[P, R]:
    """Mark a read of rows and plain values whose answer nobody changes."""

    @wraps(read)
    def known(*args: P.args, **kwargs: P.kwargs) -> R:
        answers = _known.get()
        if answers is None:
            return read(*args, **kwargs)
        given = (*args, *(value for _name, value in sorted(kwargs.items())))
        key = (read, tuple(_key(value) for value in given))
        if key not in answers:
            answers[key] = read(*args, **kwargs)
        answer: R = answers[key]
        return answer

    return known


def remembered(name: str) -> dict[Any, Any]:
    """Return what is kept under a name for this page; an empty dictionary outside of one."""
    answers = _known.get()
    if answers is None:
        return {}
    kept: dict[Any, Any] = answers.setdefault(name, {})
    return kept


def _key(value: object) -> object:
    return (type(value), value.pk) if isinstance(value, Model) else value
