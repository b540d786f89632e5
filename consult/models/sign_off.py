"""Sign-offs, each chained to the one before it."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from clients.sealed.fields import SealedTextField
from consult.models.choice import Choice
from consult.models.visit import Visit
from salon.append_only import AppendOnlyModel
from salon.models import Salon


class Method(models.TextChoices):
    """How someone signed."""

    DRAWN = "drawn", _("drawn by hand")
    TYPED = "typed", _("typed name")


class SignOff(AppendOnlyModel):
    """The client's agreement to a choice, frozen, chained to the salon's previous one, signed.

    `snapshot` is the canonical JSON of all that was shown (`consult.agreement.signing`), kept
    as the very characters that were hashed. Numbers run without a gap within a salon. Links of
    version 1 are from before there was a key: the first signed one after them seals them.
    """

    salon = models.ForeignKey(Salon, on_delete=models.PROTECT, related_name="sign_offs")
    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="sign_offs")
    choice = models.OneToOneField(Choice, on_delete=models.PROTECT, related_name="sign_off")
    number = models.PositiveIntegerField()
    method = models.CharField(max_length=6, choices=Method.choices)
    signed_name = SealedTextField(_("name"), of="visit.client", is_kept=True, max_length=120)
    guardian_of = SealedTextField(
        _("signed as guardian of"), of="visit.client", is_kept=True, max_length=120, blank=True
    )
    strokes = SealedTextField(of="visit.client", is_kept=True, blank=True)
    witness = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    signed_at = models.DateTimeField()
    snapshot = SealedTextField(of="visit.client", is_kept=True)
    previous_digest = models.CharField(max_length=64)
    digest = models.CharField(max_length=64)
    version = models.PositiveSmallIntegerField(default=1)
    content_salt = SealedTextField(of="visit.client", is_kept=True, max_length=32, blank=True)
    content_digest = models.CharField(max_length=64, blank=True)
    key_id = models.CharField(max_length=16, blank=True)
    signature = models.CharField(max_length=128, blank=True)

    class Meta(AppendOnlyModel.Meta):
        ordering = ["number"]
        constraints = [
            models.UniqueConstraint(fields=["salon", "number"], name="sign_off_number_once"),
            models.UniqueConstraint(
                fields=["salon", "previous_digest"], name="sign_off_chain_never_forks"
            ),
            models.UniqueConstraint(fields=["salon", "digest"], name="sign_off_digest_once"),
            models.CheckConstraint(condition=Q(number__gte=1), name="sign_off_number_from_one"),
            models.CheckConstraint(
                condition=~Q(signed_name=""), name="sign_off_names_who_signed"
            ),
            models.CheckConstraint(
                condition=Q(method="typed") | (Q(method="drawn") & ~Q(strokes="")),
                name="sign_off_is_not_empty",
            ),
            models.CheckConstraint(
                condition=Q(version=1, key_id="", signature="")
                | (Q(version__gte=2) & ~Q(key_id="") & ~Q(signature="")),
                name="sign_off_is_signed",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.number} {self.signed_name}"
