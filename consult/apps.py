"""The consultation as a Django app."""

from django.apps import AppConfig
from django.utils.translation import gettext_lazy as _


class ConsultConfig(AppConfig):
    name = "consult"
    verbose_name = _("Consultation")
