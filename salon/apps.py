from django.apps import AppConfig
from django.db.models.signals import post_migrate
from django.utils.translation import gettext_lazy as _


class SalonConfig(AppConfig):
    name = "salon"
    verbose_name = _("Salon")

    def ready(self) -> None:
        from salon import checks, triggers  # noqa: F401

        post_migrate.connect(
            triggers.install_after_migrate, dispatch_uid="append-only-triggers"
        )
