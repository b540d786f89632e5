"""Members of staff and their roles."""

from typing import ClassVar

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.contrib.auth.validators import UnicodeUsernameValidator
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from salon import languages, user_names
from salon.models.salon import Salon


class Role(models.TextChoices):
    """What a member of staff is here to do; `salon.access` says what each may open."""

    RECEPTIONIST = "receptionist", _("Receptionist")
    STYLIST = "stylist", _("Stylist")
    OWNER = "owner", _("Owner")


class StaffManager(BaseUserManager["Staff"]):
    """Looks people up by user name."""

    def in_salon(self, salon: Salon) -> models.QuerySet["Staff"]:
        return self.filter(salon=salon)

    def with_column(self, salon: Salon) -> models.QuerySet["Staff"]:
        """Those who take clients, in the order of the diary's columns."""
        return self.in_salon(salon).filter(has_column=True, is_active=True)


class Staff(AbstractBaseUser):
    """A person who works in one salon and signs in with a name and a password."""

    salon = models.ForeignKey(Salon, on_delete=models.PROTECT, related_name="staff")
    username = models.CharField(
        _("user name"),
        max_length=60,
        unique=True,
        validators=[UnicodeUsernameValidator(), user_names.validate_one_script],
        error_messages={"unique": _("Someone already signs in with this name.")},
    )
    display_name = models.CharField(_("name"), max_length=80)
    email = models.EmailField(
        _("e-mail"),
        blank=True,
        help_text=_("For a forgotten password; to owners also the anchors of the sign-offs."),
    )
    role = models.CharField(_("role"), max_length=20, choices=Role.choices)
    has_column = models.BooleanField(_("takes clients"), default=False)
    column_order = models.PositiveSmallIntegerField(_("position in the diary"), default=0)
    language = models.CharField(
        _("language"), max_length=10, blank=True, choices=languages.choices
    )
    may_import_lists = models.BooleanField(
        _("can import client lists"),
        default=False,
        help_text=_("For receptionists; owners always can."),
    )
    helps_put_away = models.JSONField(default=list, editable=False)
    # Set while the password is one that an owner handed out: it must be changed, and ends.
    one_time_until = models.DateTimeField(null=True, blank=True, editable=False)
    # Shorter than what a password alone must be: allowed beside a second factor.
    has_short_password = models.BooleanField(default=False, editable=False)
    is_active = models.BooleanField(_("can sign in"), default=True)

    objects: ClassVar[StaffManager] = StaffManager()

    USERNAME_FIELD = "username"
    REQUIRED_FIELDS: ClassVar[list[str]] = ["display_name", "role"]

    class Meta:
        ordering = ["column_order", "display_name", "pk"]
        verbose_name = _("member of staff")
        verbose_name_plural = _("staff")
        constraints = [
            models.CheckConstraint(condition=Q(role__in=Role.values), name="staff_role_known"),
        ]

    def __str__(self) -> str:
        return self.display_name

    @property
    def imports_lists(self) -> bool:
        """Whether they may import client lists: an owner, or a receptionist allowed by one."""
        return self.role == Role.OWNER or (
            self.role == Role.RECEPTIONIST and self.may_import_lists
        )
