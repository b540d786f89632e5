"""Sessions in the database that know whose they are, so that each can see and end their own.

The way that Django's documentation shows: a model and a store that extend its own.
"""

from typing import Any

from django.contrib.auth import SESSION_KEY
from django.contrib.sessions.backends.db import SessionStore as DatabaseSessions


class SessionStore(DatabaseSessions):
    """Keeps the number of whoever is signed in beside the session."""

    @classmethod
    def get_model_class(cls) -> Any:
        from salon.models import StaffSession

        return StaffSession

    def create_model_instance(self, data: dict[str, Any]) -> Any:
        row: Any = super().create_model_instance(data)
        row.staff_id = int(data[SESSION_KEY]) if SESSION_KEY in data else None
        return row
