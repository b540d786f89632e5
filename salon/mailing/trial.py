"""A test mail to the owner who asks for one."""

import datetime as dt

from django.core.mail import EmailMessage
from django.db import transaction
from django.utils.translation import gettext as _

from salon import audit, languages
from salon.mailing import headers, letters
from salon.models import Letter, Staff
from salon.policies import require_owner
from salon.refusals import Refused

WITHIN = dt.timedelta(minutes=30)


class NoAddress(Refused):
    """Raised where there is no address to send a test to."""


@transaction.atomic
def send_test_mail(*, by: Staff, at: dt.datetime) -> Letter:
    """Queue a test mail to an owner's own address."""
    require_owner(by=by)
    if not by.email:
        raise NoAddress(
            _("Add your e-mail address under Salon, Team first."), code="no_address"
        )
    letter = letters.post(kind="test", about=by.pk, salon=by.salon, at=at, within=WITHIN)
    audit.record_event("test mail asked for", target=by.salon, by=by, at=at)
    return letter


def write(letter: Letter) -> EmailMessage | None:
    """Return the mail, or None where its reader has left."""
    owner = Staff.objects.filter(pk=letter.about, is_active=True).exclude(email="").first()
    if owner is None:
        return None
    with languages.speaking(owner.language or owner.salon.language):
        return headers.message(
            salon=owner.salon,
            subject=_("Test mail from %(salon)s") % {"salon": owner.salon.name},
            body=_("This mail shows that %(salon)s can send e-mail. Nothing has to be done.")
            % {"salon": owner.salon.name},
            to=owner.email,
            key=f"test.{letter.pk}",
        )
