"""The consultation as a Django app."""

from django.apps import AppConfig
from django.db.models.signals import post_save
from django.utils.translation import gettext_lazy as _


class ConsultConfig(AppConfig):
    name = "consult"
    verbose_name = _("Consultation")

    def ready(self) -> None:
        from clients.models import PatchOverride
        from consult.history.signals import note_override

        post_save.connect(note_override, sender=PatchOverride, dispatch_uid="note-override")
