"""Sessions in the database that know whose they are, so that each can see and end their own.

The way that Django's documentation shows: a model and a store that extend its own.
"""

from typing import Any

from django.contrib.auth import SESSION_KEY
from django.contrib.sessions.backends.base import UpdateError
from django.contrib.sessions.backends.db import SessionStore as DatabaseSessions
from django.contrib.sessions.base_session import AbstractBaseSession
from django.db import models

from salon import outages
from salon.models.staff import Staff


class StaffSession(AbstractBaseSession):
    """A session and whose it is. No foreign key: a session is saved before anybody is asked."""

    staff_id = models.BigIntegerField(null=True, db_index=True)

    class Meta:
        verbose_name = "session"
        verbose_name_plural = "sessions"

    @classmethod
    def get_session_store_class(cls) -> type:
        return SessionStore

    def is_of(self, staff: Staff) -> bool:
        """Return whether it is somebody's."""
        return self.staff_id == staff.pk


class SessionStore(DatabaseSessions):
    """Keeps the number of whoever is signed in beside the session."""

    @classmethod
    def get_model_class(cls) -> Any:
        return StaffSession

    def save(self, must_create: bool = False) -> None:
        """Keep the session; a full disk must not read like a session that somebody ended."""
        try:
            super().save(must_create)
            return
        except UpdateError as error:
            failure = error.__context__
            if not (outages.is_full_disk(failure) or outages.is_away(failure)):
                raise
        if failure:
            raise failure

    def create_model_instance(self, data: dict[str, Any]) -> Any:
        row: Any = super().create_model_instance(data)
        row.staff_id = int(data[SESSION_KEY]) if SESSION_KEY in data else None
        return row
