import django.db.models.deletion
from django.db import migrations, models
from django.db.models import OuterRef, Subquery

from salon import triggers


def give_each_its_salon(apps, schema_editor):
    """Write into every movement the salon of its shade's line: one statement, no loop."""
    movement = apps.get_model("formulas", "StockMovement")
    triggers.suspend(schema_editor.connection, tables=[movement._meta.db_table])
    shade = apps.get_model("formulas", "Shade").objects.filter(pk=OuterRef("shade")).order_by()
    movement.objects.update(salon=Subquery(shade.values("line__salon")[:1]))


class Migration(migrations.Migration):

    dependencies = [
        ("formulas", "0015_further_developers"),
    ]

    operations = [
        migrations.RemoveIndex("stockmovement", "movement_by_time"),
        # The key is checked once, when the column is full, and not for each row that is filled:
        # PostgreSQL alters no table that such checks wait for.
        migrations.AddField(
            "stockmovement",
            "salon",
            models.ForeignKey(db_constraint=False, db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name="movements", to="salon.salon"),
        ),
        migrations.RunPython(give_each_its_salon, migrations.RunPython.noop),
        migrations.AlterField(
            "stockmovement",
            "salon",
            models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name="movements", to="salon.salon"),
        ),
        migrations.AddIndex(
            "stockmovement",
            models.Index(fields=["salon", "-recorded_at", "-id"], name="movement_by_salon"),
        ),
        migrations.AddIndex(
            "stockmovement",
            models.Index(condition=models.Q(("expires_on__isnull", False)), fields=["salon", "expires_on"], name="movement_by_best_before"),
        ),
    ]
