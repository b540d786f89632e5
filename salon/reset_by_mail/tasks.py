"""Who asked for a link is looked up outside of the request.

Who asks gets the same answer after the same work, whether or not there is anybody of that name:
one task is queued, and only it looks. What was typed, sometimes a password, is in the queue
encrypted.
"""

from django.utils import timezone
from django_tasks import task

from salon.reset_by_mail import services
from salon.second_factor import codes


def queue_for(username: str) -> None:
    """Queue the look for who signs in with a name."""
    mail_reset_link.enqueue(codes.sealed(username.encode()))


@task()
def mail_reset_link(sealed_name: str) -> None:
    """Queue the letter of who signs in with this name, if they may have one."""
    name = codes.opened(sealed_name)
    if name is not None:
        services.begin_reset(username=name.decode(), at=timezone.now())
