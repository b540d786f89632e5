"""Saving a form or pressing a button through a service that may refuse."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Generic, Protocol, TypeVar

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest

from salon.refusals import Refused, Stale

Result = TypeVar("Result")


class Savable(Protocol):
    """A form, or several that behave as one."""

    @property
    def cleaned_data(self) -> dict[str, Any]: ...

    def is_valid(self) -> bool: ...

    def add_error(self, field: str | None, error: Any) -> None: ...


@dataclass(frozen=True)
class Attempt(Generic[Result]):
    """What became of a form or a button: saved with its result, or why not.

    `status` is what the page that shows the form again answers with.
    """

    saved: bool = False
    status: int = 200
    result: Result | None = None
    refusal: Refused | None = None


def attempt(
    request: HttpRequest,
    form: Savable,
    write: Callable[[dict[str, Any]], Result],
    *,
    field: str | None = None,
) -> Attempt[Result]:
    """Save a posted form through a service; what it refuses becomes the form's own errors.

    A refusal is shown beside its own field, else beside `field`, else above the form; what
    someone else has changed is shown above it.
    """
    if request.method != "POST":
        return Attempt()
    if not form.is_valid():
        return Attempt(status=422)
    try:
        return Attempt(saved=True, result=write(form.cleaned_data))
    except Refused as refusal:
        beside = None if isinstance(refusal, Stale) else refusal.field or field
        if not refusal.is_worded_by_page:
            form.add_error(beside, str(refusal))
        return Attempt(status=refusal.status, refusal=refusal)
    except ValidationError as error:
        form.add_error(None, error if _fits(error, form) else error.messages)
        return Attempt(status=422)


def press(
    request: HttpRequest, write: Callable[[], Result], *, quiet: bool = False
) -> Attempt[Result]:
    """Do what a button without fields asks for; say why not, unless the page itself does."""
    try:
        return Attempt(saved=True, result=write())
    except Refused as refusal:
        if not quiet and not refusal.is_worded_by_page:
            messages.error(request, str(refusal))
        return Attempt(status=refusal.status, refusal=refusal)


def _fits(error: ValidationError, form: Savable) -> bool:
    """Tell whether each part of an error names a field of the form."""
    fields = getattr(form, "fields", {})
    return hasattr(error, "error_dict") and set(error.error_dict) <= {*fields, "__all__"}
