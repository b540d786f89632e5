"""`manage.py migrate`: Django's own, which asks the database's guards after it has migrated.

Django runs the checks tagged `database` first. An older release's database, or one whose
trigger went missing, would then be refused by the command that puts it right.
"""

from typing import Any

from django.core.checks import Tags
from django.core.management.commands import migrate


class Command(migrate.Command):
    """Ends with an error where a guard is missing although everything was installed."""

    def get_check_kwargs(self, options: dict[str, object]) -> Any:
        kwargs = super().get_check_kwargs(options)
        return {name: value for name, value in kwargs.items() if name != "databases"}

    def handle(self, *args: Any, **options: Any) -> None:
        super().handle(*args, **options)
        if not options["plan"] and not options["prune"]:
            self.check(tags=[Tags.database], databases=[options["database"]])
