"""The ground floor's records."""

from salon.models.audit_event import AuditEvent
from salon.models.policy import Policy
from salon.models.salon import Salon
from salon.models.staff import Role, Staff
from salon.models.submission import Submission

__all__ = ["AuditEvent", "Policy", "Role", "Salon", "Staff", "Submission"]
