from django.contrib.sessions.base_session import AbstractBaseSession
from django.db import models

from salon.models.staff import Staff


class StaffSession(AbstractBaseSession):
    """A session and whose it is. No foreign key: a session is saved before anybody is asked."""

    staff_id = models.BigIntegerField(null=True, db_index=True)

    class Meta:
        verbose_name = "session"
        verbose_name_plural = "sessions"

    @classmethod
    def get_session_store_class(cls) -> type:
        from salon.sessions import SessionStore

        return SessionStore

    def is_of(self, staff: Staff) -> bool:
        """Return whether it is somebody's."""
        return self.staff_id == staff.pk
