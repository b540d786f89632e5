"""The front desk as a Django app, with the guard against double booking."""

from django.apps import AppConfig
from django.db.models.signals import post_migrate
from django.utils.translation import gettext_lazy as _


class ClientsConfig(AppConfig):
    name = "clients"
    verbose_name = _("Front desk")

    def ready(self) -> None:
        from clients import checks  # noqa: F401
        from clients.diary import overlap_guard

        post_migrate.connect(
            overlap_guard.install_after_migrate, sender=self, dispatch_uid="overlap-guard"
        )
