"""Printed and mailed visit cards."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from consult.models.visit import Visit
from salon.append_only import AppendOnlyModel
from salon.mailing.reasons import REASONS


class CardKind(models.TextChoices):
    """A printed page of a visit."""

    VISIT = "visit", _("visit card")
    BENCH = "bench", _("bench card")
    SIGN_OFF = "sign_off", _("sign-off sheet")


class CardPrinted(AppendOnlyModel):
    """That a page of a visit was printed, when and by whom."""

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="cards")
    kind = models.CharField(max_length=8, choices=CardKind.choices)
    digest = models.CharField(max_length=64)
    printed_at = models.DateTimeField()
    printed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta(AppendOnlyModel.Meta):
        ordering = ["-printed_at", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(kind__in=CardKind.values), name="card_kind_known"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.visit_id} {self.kind}"


class MailState(models.TextChoices):
    """The status of a mailed card; SENDING means that its letter is queued or in hand."""

    SENDING = "sending", _("being sent")
    SENT = "sent", _("sent")
    PERHAPS = "perhaps", _("perhaps sent")
    FAILED = "failed", _("failed")


class MailAnswer(models.TextChoices):
    """What somebody found out about a mail that nobody saw leave."""

    ARRIVED = "arrived", _("It arrived")
    AGAIN = "again", _("Send again")
    LEFT = "left", _("Leave it")


class CardMail(models.Model):
    """A visit card on its way to the client's own address: once to each address."""

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="mailed_cards")
    address = models.EmailField(_("e-mail"))
    state = models.CharField(max_length=8, choices=MailState.choices, default=MailState.SENDING)
    why = models.CharField(max_length=60, blank=True)  # a code of REASONS, or an answer
    asked_at = models.DateTimeField()
    asked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    sent_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["visit", "address"],
                condition=~Q(state="failed"),
                name="card_mailed_once_to_an_address",
            ),
            models.CheckConstraint(
                condition=Q(state__in=MailState.values), name="card_mail_state_known"
            ),
            models.CheckConstraint(
                condition=~Q(state="sent") | Q(sent_at__isnull=False),
                name="card_mail_sent_has_a_time",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.visit_id} {self.state}"

    @property
    def was_left(self) -> bool:
        """Whether it was left at not knowing what became of it."""
        return self.state == MailState.FAILED and self.why == MailAnswer.LEFT

    @property
    def reason_text(self) -> str:
        """Why it was not sent, in the reader's language; empty where no reason was kept."""
        return gettext(REASONS[self.why]) if self.why in REASONS else ""
