from django.apps.registry import Apps
from django.db import migrations, models
from django.db.backends.base.schema import BaseDatabaseSchemaEditor


def copy_from_records(apps: Apps, editor: BaseDatabaseSchemaEditor) -> None:
    """Mark the figures of visits that were redone, and of those allowed in writing."""
    database = editor.connection.alias
    visits = apps.get_model("consult", "Visit").objects.using(database)
    overrides = apps.get_model("clients", "PatchOverride").objects.using(database)
    figures = apps.get_model("consult", "VisitFigures").objects.using(database)
    redone = visits.filter(corrects__isnull=False).values("corrects")
    figures.filter(visit__in=redone).update(is_redone=True)
    allowed = visits.filter(appointment__in=overrides.values("appointment")).values("pk")
    figures.filter(visit__in=allowed).update(is_overridden=True)


class Migration(migrations.Migration):
    dependencies = [
        ("clients", "0033_possible_duplicates"),
        ("consult", "0028_figures_beside_their_visit"),
    ]

    operations = [
        migrations.AddField("visitfigures", "is_redone", models.BooleanField(default=False)),
        migrations.AddField(
            "visitfigures", "is_overridden", models.BooleanField(default=False)
        ),
        migrations.RunPython(copy_from_records, migrations.RunPython.noop),
    ]
