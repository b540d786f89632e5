"""The mail with a visit's card; drawn when it leaves, so that no copy of it waits anywhere."""

from django.core.mail import EmailMessage
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from consult.models import CardMail
from consult.paper import content, pdf
from consult.services import card_mail
from salon import languages
from salon.mailing import headers
from salon.mailing.letters import NotWritten
from salon.models import Letter


def write(letter: Letter) -> EmailMessage | None:
    """Return the mail, or None where the client no longer wants it at that address."""
    mail = CardMail.objects.select_related("visit__client", "visit__salon").get(pk=letter.about)
    if card_mail.why_not_again(mail):
        return None
    visit = mail.visit
    with languages.speaking(visit.client.speaks(visit.salon)):
        try:
            sheet = pdf.printed_paper(content.CARD, content.visit_card(visit))
        except pdf.DoesNotFit as error:
            raise NotWritten("paper") from error
        return _message(mail, sheet.content)


def _message(mail: CardMail, sheet: bytes) -> EmailMessage:
    """Return the message: nothing about health, and nothing of the hair, is in its body."""
    visit = mail.visit
    values = {
        "name": visit.client.called,
        "salon": visit.salon.name,
        "phone": visit.salon.phone,
        "when": date_format(visit.opened_at.astimezone(visit.salon.zone), "DATE_FORMAT"),
    }
    message = headers.message(
        salon=visit.salon,
        subject=_("Your card from %(salon)s") % values,
        body=_(
            "Dear %(name)s,\n\n"
            "the card of your visit on %(when)s is attached.\n"
            "If you have questions, please call %(phone)s.\n\n"
            "%(salon)s"
        )
        % values,
        to=mail.address,
        key=f"card.{mail.pk}",
    )
    message.attach(f"card-{visit.pk}.pdf", sheet, "application/pdf")
    return message
