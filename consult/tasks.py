"""What the consultation does outside of requests."""

from django.utils import timezone
from django_tasks import task

from consult import services
from salon.models import Staff


@task()
def anchor_now(by_pk: int) -> None:
    """Anchor the newest sign-off for an owner; a second time it makes one more, no harm."""
    by = Staff.objects.select_related("salon").get(pk=by_pk)
    services.anchor_sign_offs(salon=by.salon, by=by, at=timezone.now())
