"""Who asked for a link is looked up outside of the request.

Who asks gets the same answer after the same work, whether or not there is anybody of that name:
one task is queued, and only it looks.
"""

from django.utils import timezone
from django_tasks import task

from salon.reset_by_mail import services


@task()
def mail_reset_link(username: str) -> None:
    """Queue the letter of who signs in with this name, if they may have one."""
    services.begin_reset(username=username, at=timezone.now())
