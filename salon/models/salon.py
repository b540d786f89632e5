"""Salons, and checks of their time zone and country."""

import datetime as dt
import zoneinfo

import phonenumbers
from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from salon import languages


def validate_time_zone(value: str) -> None:
    """Refuse a name that the time-zone database does not know."""
    if value not in zoneinfo.available_timezones():
        raise ValidationError(
            gettext("“%(value)s” is not a time zone."), params={"value": value}
        )


def validate_country(value: str) -> None:
    """Refuse a country that the tables of phone numbers do not know."""
    if value not in phonenumbers.SUPPORTED_REGIONS:
        raise ValidationError(
            gettext("“%(value)s” is not a country of two letters, for example IE or DE."),
            params={"value": value},
        )


class Salon(models.Model):
    """One salon: every other record belongs to exactly one."""

    name = models.CharField(_("name"), max_length=120)
    time_zone = models.CharField(
        _("time zone"), max_length=64, default="UTC", validators=[validate_time_zone]
    )
    # ISO 3166; empty for the installation's own (`PHONE_REGION`).
    country = models.CharField(
        _("country"), max_length=2, blank=True, validators=[validate_country]
    )
    currency = models.CharField(_("currency"), max_length=3, default="EUR")
    language = models.CharField(
        _("language of cards and letters"),
        max_length=10,
        default=settings.LANGUAGE_CODE,
        choices=languages.choices,
    )
    phone = models.CharField(_("phone"), max_length=40, blank=True)
    address = models.CharField(_("address"), max_length=200, blank=True)
    email = models.EmailField(_("e-mail"), blank=True)
    # Keys of first steps that the owner does without.
    steps_declined = models.JSONField(default=list, blank=True, editable=False)
    # Country, area and names of the public holidays that are closed each year, and the last
    # year they are entered for; empty for none (`clients.diary.yearly_holidays`).
    yearly_holidays = models.JSONField(default=dict, blank=True, editable=False)
    first_steps_put_away = models.BooleanField(default=False, editable=False)
    opens_at = models.TimeField(_("opens at"), default=dt.time(9, 0))
    closes_at = models.TimeField(_("closes at"), default=dt.time(19, 0))

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(opens_at__lt=F("closes_at")), name="salon_opens_before_it_closes"
            ),
        ]

    @property
    def salon_id(self) -> int:
        """Its own id: a salon is a record of itself."""
        return self.pk

    @property
    def salon(self) -> "Salon":
        """Itself."""
        return self

    @property
    def region(self) -> str:
        """The country of phone numbers typed without one, and of public holidays."""
        return self.country or str(settings.PHONENUMBER_DEFAULT_REGION)

    def __str__(self) -> str:
        return self.name

    @property
    def zone(self) -> zoneinfo.ZoneInfo:
        """The salon's time zone."""
        return zoneinfo.ZoneInfo(self.time_zone)
