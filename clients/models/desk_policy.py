"""The desk's own rules: one row for each salon."""

import datetime as dt

from django.core.exceptions import ValidationError
from django.db import models
from django.utils.translation import gettext_lazy as _

from salon.models import Salon


class DeskPolicy(models.Model):
    """How the front desk works: one row per salon, the defaults where there is none."""

    salon = models.OneToOneField(
        Salon, on_delete=models.PROTECT, primary_key=True, related_name="desk_policy"
    )
    desk_sees_medical_notes = models.BooleanField(
        _("receptionists see medical notes"), default=False
    )
    history_years = models.PositiveSmallIntegerField(_("years of hair history"), default=2)
    quiet_from = models.TimeField(_("no messages after"), default=dt.time(20, 0))
    quiet_until = models.TimeField(_("until"), default=dt.time(8, 0))

    def clean(self) -> None:
        """Refuse quiet hours that never end."""
        if self.quiet_from == self.quiet_until:
            never = _(
                "Choose a different time. With the same one no message would ever be sent."
            )
            raise ValidationError({"quiet_until": never})

    def __str__(self) -> str:
        return str(self.salon_id)
