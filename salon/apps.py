"""The ground floor as a Django app: append-only triggers, and what every app registers."""

from django.apps import AppConfig
from django.db.models.signals import post_migrate, pre_migrate
from django.utils.module_loading import autodiscover_modules
from django.utils.translation import gettext_lazy as _


class SalonConfig(AppConfig):
    name = "salon"
    verbose_name = _("Salon")

    def ready(self) -> None:
        from django.contrib.auth.signals import user_logged_in

        from salon import checks, triggers  # noqa: F401
        from salon.tablet.signals import open_sitting

        pre_migrate.connect(
            triggers.make_way_before_migrate, sender=self, dispatch_uid="triggers-make-way"
        )
        post_migrate.connect(
            triggers.install_after_migrate, sender=self, dispatch_uid="append-only-triggers"
        )
        user_logged_in.connect(open_sitting, dispatch_uid="open-sitting")
        autodiscover_modules("registration")
