import django.db.models.deletion
from django.apps.registry import Apps
from django.conf import settings
from django.db import migrations, models
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.models import Exists, OuterRef, Subquery


def copy_from_visits(apps: Apps, editor: BaseDatabaseSchemaEditor) -> None:
    """Write beside each visit's figures what its visit has, and whether a later one closed."""
    database = editor.connection.alias
    visits = apps.get_model("consult", "Visit").objects.using(database)
    figures = apps.get_model("consult", "VisitFigures").objects.using(database)
    own = visits.filter(pk=OuterRef("visit"))
    columns = ("salon", "opened_at", "line", "stylist")
    figures.update(**{name: Subquery(own.values(name)) for name in columns})
    # No result, nothing that could have faded; the others are worked out by `visit_figures`.
    figures.filter(looks=[]).update(faded=[])
    later = visits.filter(
        client=OuterRef("visit__client"),
        status="closed",
        opened_at__gt=OuterRef("visit__opened_at"),
    )
    followed = figures.filter(Exists(later)).values("pk")
    figures.filter(pk__in=followed).update(is_followed=True)
    if editor.connection.vendor == "postgresql":
        # The keys just written are checked now: no table may be altered while that is due.
        editor.execute("SET CONSTRAINTS ALL IMMEDIATE")


class Migration(migrations.Migration):
    dependencies = [
        ("consult", "0027_batches_by_shade"),
        ("formulas", "0014_index_what_grows"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AddField(
            "visitfigures",
            "salon",
            models.ForeignKey(
                null=True, db_index=False, on_delete=django.db.models.deletion.PROTECT,
                related_name="+", to="salon.salon",
            ),
        ),
        migrations.AddField("visitfigures", "opened_at", models.DateTimeField(null=True)),
        migrations.AddField(
            "visitfigures",
            "line",
            models.ForeignKey(
                null=True, db_index=False, on_delete=django.db.models.deletion.PROTECT,
                related_name="+", to="formulas.productline",
            ),
        ),
        migrations.AddField(
            "visitfigures",
            "stylist",
            models.ForeignKey(
                null=True, db_index=False, on_delete=django.db.models.deletion.PROTECT,
                related_name="+", to=settings.AUTH_USER_MODEL,
            ),
        ),
        migrations.AddField("visitfigures", "is_followed", models.BooleanField(default=False)),
        migrations.AddField("visitfigures", "faded", models.JSONField(null=True)),
        migrations.RunPython(copy_from_visits, migrations.RunPython.noop),
        migrations.AlterField(
            "visitfigures",
            "salon",
            models.ForeignKey(
                db_index=False, on_delete=django.db.models.deletion.PROTECT,
                related_name="+", to="salon.salon",
            ),
        ),
        migrations.AlterField("visitfigures", "opened_at", models.DateTimeField()),
        migrations.AlterField(
            "visitfigures",
            "line",
            models.ForeignKey(
                db_index=False, on_delete=django.db.models.deletion.PROTECT,
                related_name="+", to="formulas.productline",
            ),
        ),
        migrations.AlterField(
            "visitfigures",
            "stylist",
            models.ForeignKey(
                db_index=False, on_delete=django.db.models.deletion.PROTECT,
                related_name="+", to=settings.AUTH_USER_MODEL,
            ),
        ),
        migrations.AddIndex(
            "visitfigures",
            models.Index(fields=["salon", "opened_at", "days_since"], name="figures_by_time"),
        ),
        migrations.AddIndex(
            "visitfigures",
            models.Index(
                condition=models.Q(("is_followed", False)),
                fields=["salon", "opened_at", "due_on"], name="figures_of_latest",
            ),
        ),
    ]
