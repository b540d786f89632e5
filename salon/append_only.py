"""Rows that are written once: a correction is a new row, the earlier row stays.

Two guards: this module refuses in Python, `salon.triggers` refuses in the database.
"""

from typing import Any, NoReturn, TypeVar

from django.db import models
from django.utils.translation import gettext as _

M = TypeVar("M", bound=models.Model)


class AppendOnlyError(Exception):
    """Raised when code tries to change or delete a row that is kept for good."""


def _refuse(action: str) -> NoReturn:
    raise AppendOnlyError(
        _("%(what)s: these records cannot be changed or deleted.") % {"what": action}
    )


class AppendOnlyQuerySet(models.QuerySet[M]):
    """A queryset that reads and adds, and refuses everything else."""

    def update(self, **kwargs: Any) -> NoReturn:
        _refuse("update")

    def delete(self) -> NoReturn:
        _refuse("delete")

    def bulk_update(self, *args: Any, **kwargs: Any) -> NoReturn:
        _refuse("bulk_update")

    def update_or_create(self, *args: Any, **kwargs: Any) -> NoReturn:
        _refuse("update_or_create")


class AppendOnlyModel(models.Model):
    """The base of every record that may only be added."""

    objects = AppendOnlyQuerySet.as_manager()

    class Meta:
        abstract = True
        # Related managers and refreshes go through the same guard.
        base_manager_name = "objects"

    def save(self, *args: Any, **kwargs: Any) -> None:
        if not self._state.adding:
            _refuse("save")
        kwargs["force_insert"] = True
        super().save(*args, **kwargs)

    def delete(self, *args: Any, **kwargs: Any) -> NoReturn:
        _refuse("delete")
