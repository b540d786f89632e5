"""The formulary as a Django app."""

from django.apps import AppConfig
from django.utils.translation import gettext_lazy as _


class FormulasConfig(AppConfig):
    name = "formulas"
    verbose_name = _("Product lines")
