"""The mail with the link; written when it leaves, so that its hour begins then."""

from urllib.parse import urlsplit

from django.conf import settings
from django.contrib.auth.tokens import default_token_generator
from django.core.mail import EmailMessage
from django.template.loader import render_to_string
from django.utils.encoding import force_bytes
from django.utils.http import urlsafe_base64_encode

from salon import languages
from salon.mailing import headers
from salon.models import Letter, Staff


def write(letter: Letter) -> EmailMessage | None:
    """Return the mail, or None where its reader has left; its address is of the settings."""
    member = Staff.objects.filter(pk=letter.about, is_active=True).exclude(email="").first()
    if member is None:
        return None
    site = urlsplit(settings.SITE_URL)
    context = {
        "user": member,
        "domain": site.netloc,
        "protocol": site.scheme,
        "uid": urlsafe_base64_encode(force_bytes(member.pk)),
        "token": default_token_generator.make_token(member),
    }
    with languages.speaking(member.language or member.salon.language):
        return headers.message(
            salon=member.salon,
            subject=render_to_string("salon/reset_subject.txt", context),
            body=render_to_string("salon/reset_mail.txt", context),
            to=member.email,
            key=f"reset.{letter.pk}",
        )
