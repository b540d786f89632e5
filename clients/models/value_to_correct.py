"""Values of an import that someone has yet to correct."""

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from clients.models.client import Client
from clients.models.client_import import ClientImport
from salon.models import Salon


class ValueProblem(models.TextChoices):
    """Why a value of a list was not taken as it is written."""

    NOT_VALID = "not_valid", _("cannot be read")
    HOLDS_MORE = "holds_more", _("has more than one value: the first one was used")
    TOO_LONG = "too_long", _("too long: cut off after the beginning")
    WHICH_CENTURY = "which_century", _("the year has only two digits")


class ValueField(models.TextChoices):
    """The client's fields that a list may fill."""

    NAME = "name", _("name")
    KNOWN_AS = "known_as", _("known as")
    PHONE = "phone", _("phone")
    EMAIL = "email", _("e-mail")
    BIRTH_DATE = "birth_date", _("birth date")
    NOTE = "note", _("note for the desk")


class ValueToCorrect(models.Model):
    """A value of an imported client as the file has it, kept until someone corrects it."""

    salon = models.ForeignKey(Salon, on_delete=models.PROTECT, related_name="values_to_correct")
    client = models.ForeignKey(
        Client, on_delete=models.CASCADE, related_name="values_to_correct"
    )
    brought_by = models.ForeignKey(ClientImport, on_delete=models.PROTECT, related_name="+")
    field = models.CharField(max_length=10, choices=ValueField.choices)
    text = models.TextField()
    problem = models.CharField(max_length=13, choices=ValueProblem.choices)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["client", "field"], name="one_value_to_correct"),
            models.CheckConstraint(condition=~Q(text=""), name="value_to_correct_has_text"),
            models.CheckConstraint(
                condition=Q(field__in=ValueField.values, problem__in=ValueProblem.values),
                name="value_to_correct_known",
            ),
        ]

    @property
    def person(self) -> Client:
        """Whose value it is: the entry that is kept, where two were merged."""
        return self.client.person

    @property
    def on_record(self) -> str:
        """What the client's record has in this field now."""
        return str(getattr(self.person, self.field) or "")

    def __str__(self) -> str:
        return f"{self.get_field_display()}: {self.text}"
