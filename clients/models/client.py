"""Clients, their households, and how the register lists them."""

import datetime as dt
import unicodedata
from typing import Any

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Upper
from django.utils.functional import cached_property
from django.utils.translation import gettext_lazy as _

from clients.models.phone import PhoneField
from salon import languages
from salon.models import Salon
from salon.reading_once import read_once


def searchable(text: str) -> str:
    """Return `text` without case and accents, for matching and never for showing."""
    decomposed = unicodedata.normalize("NFKD", text.casefold())
    plain = "".join(c for c in decomposed if not unicodedata.combining(c))
    return " ".join(plain.replace("’", "'").split())


class ClientQuerySet(models.QuerySet["Client"]):
    """Clients of one salon, in the order of their names."""

    def for_salon(self, salon: Salon) -> "ClientQuerySet":
        return self.filter(salon=salon)

    def in_register(self) -> "ClientQuerySet":
        """Leave out entries that are someone else's second one, and who was erased."""
        return self.filter(merged_into__isnull=True).exclude(shut=Shut.ERASED)


class Shut(models.TextChoices):
    """Whether a record is only stored, and nobody works with it."""

    NOT = "", _("open")
    RESTRICTED = "restricted", _("shut: only stored")
    ERASED = "erased", _("erased")


class ContactBy(models.TextChoices):
    """How a client wishes to hear from the salon."""

    EMAIL = "email", _("by e-mail")
    PHONE = "phone", _("by phone")
    NOTHING = "nothing", _("not at all")


class Household(models.Model):
    """Clients who belong together: a family, a shared phone."""

    salon = models.ForeignKey(Salon, on_delete=models.PROTECT, related_name="households")
    formed_at = models.DateTimeField()

    def __str__(self) -> str:
        return str(self.pk)


class Client(models.Model):
    """A person who comes to the salon; the name is kept as they give it, in one piece."""

    salon = models.ForeignKey(Salon, on_delete=models.PROTECT, related_name="clients")
    name = models.CharField(_("name"), max_length=120)
    known_as = models.CharField(_("known as"), max_length=60, blank=True)
    phone: Any = PhoneField(_("phone"), blank=True)
    email = models.EmailField(_("e-mail"), blank=True)
    birth_date = models.DateField(_("birth date"), null=True, blank=True)
    preferred_stylist = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
        verbose_name=_("preferred stylist"),
    )
    note = models.CharField(_("note for the desk"), max_length=300, blank=True)
    contact_by = models.CharField(
        _("reminders"), max_length=8, choices=ContactBy.choices, default=ContactBy.EMAIL
    )
    language = models.CharField(
        _("language"), max_length=10, blank=True, choices=languages.choices
    )
    retone_weeks = models.PositiveSmallIntegerField(
        _("weeks between toners"),
        null=True,
        blank=True,
        validators=[MinValueValidator(1), MaxValueValidator(52)],
    )
    household = models.ForeignKey(
        Household, on_delete=models.SET_NULL, null=True, blank=True, related_name="members"
    )
    merged_into = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="duplicates"
    )
    # Of a merged entry: since when two people have confirmed that it is the same body.
    same_body_at = models.DateTimeField(null=True, editable=False)
    brought_by = models.ForeignKey(
        "clients.ClientImport",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        editable=False,
        related_name="clients",
    )
    shut = models.CharField(
        max_length=10, choices=Shut.choices, default=Shut.NOT, blank=True, editable=False
    )
    last_booked_at = models.DateTimeField(null=True, editable=False)
    search_name = models.CharField(max_length=200, editable=False)
    registered_at = models.DateTimeField()
    version = models.PositiveIntegerField(default=1, editable=False)

    objects = ClientQuerySet.as_manager()

    class Meta:
        ordering = ["search_name", "pk"]
        indexes = [
            models.Index(fields=["salon", "search_name", "id"], name="client_by_name"),
            models.Index(fields=["salon", "phone"], name="client_by_phone"),
            models.Index(fields=["salon", "birth_date"], name="client_by_birth"),
            models.Index(fields=["salon", "-last_booked_at"], name="client_by_last_booking"),
            models.Index(F("salon"), Upper("email"), name="client_by_email"),
            # Hardly anybody is merged: without an index of those few, SQLite's statistics say
            # that everybody is "merged into nobody", and it reads the whole register.
            models.Index(
                fields=["merged_into"],
                condition=Q(merged_into__isnull=False),
                name="client_merged",
            ),
        ]
        constraints = [
            models.CheckConstraint(condition=~Q(name=""), name="client_has_a_name"),
            models.CheckConstraint(condition=Q(shut__in=Shut.values), name="client_shut_known"),
            models.CheckConstraint(
                condition=Q(merged_into__isnull=True) | ~Q(merged_into=F("pk")),
                name="client_not_merged_into_itself",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def person(self) -> "Client":
        """The entry that is kept for this person, where several were merged."""
        return self.merged_into or self

    @cached_property
    def entries_of_person(self) -> list[int]:
        """The ids of every entry of this person, as read the first time that somebody asks."""
        return entry_ids(self.merged_into_id or self.pk)

    def speaks(self, salon: Salon) -> str:
        """Return the language of what this client gets: their own, else the salon's."""
        return languages.first_known(self.language, salon.language)

    @property
    def called(self) -> str:
        """How they like to be called."""
        return self.known_as or self.name

    def save(self, *args: object, **kwargs: object) -> None:
        self.search_name = self.searchable_name()
        super().save(*args, **kwargs)  # type: ignore[arg-type]

    def searchable_name(self) -> str:
        """Return the names as they are matched and sorted."""
        return searchable(f"{self.name} {self.known_as}")[:200]

    def age_on(self, day: dt.date) -> int | None:
        """Return the age in full years on a day, or None where no birth date is known."""
        if self.birth_date is None:
            return None
        born = self.birth_date
        return day.year - born.year - ((day.month, day.day) < (born.month, born.day))


@read_once
def entry_ids(own_id: int) -> list[int]:
    """Return the ids of every entry of a person, the main one first."""
    merged = Client.objects.filter(merged_into=own_id).order_by("pk")
    return [own_id, *merged.values_list("pk", flat=True)]
