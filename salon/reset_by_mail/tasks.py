"""The mail with the link leaves outside of the request.

Who asks gets the same answer after the same work, whether or not there is anybody of that name:
one task is queued, and only it looks.
"""

from urllib.parse import urlsplit

from django.conf import settings
from django.contrib.auth.tokens import default_token_generator
from django_tasks import task

SUBJECT, BODY = "salon/reset_subject.txt", "salon/reset_mail.txt"


@task()
def mail_reset_link(username: str) -> None:
    """Mail a link to who signs in with this name, if they may have one.

    It names the address of the settings: a request may name any host.
    """
    from salon.reset_by_mail.forms import ForgottenForm

    form = ForgottenForm({"username": username})
    if not form.is_valid():
        return
    site = urlsplit(settings.SITE_URL)
    form.save(
        domain_override=site.netloc,
        use_https=site.scheme == "https",
        token_generator=default_token_generator,
        subject_template_name=SUBJECT,
        email_template_name=BODY,
        from_email=settings.DEFAULT_FROM_EMAIL,
        request=None,
    )
