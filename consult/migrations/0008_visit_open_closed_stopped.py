from django.db import migrations, models
from django.db.models import Q

STEPS = ["safety", "hair", "choice", "sign", "formula", "bench", "result", "closing"]


def keep_only_whether_it_is_open(apps, schema_editor):
    """What is due is read from the visit's records; its steps were only a copy of that."""
    visits = apps.get_model("consult", "Visit").objects.using(schema_editor.connection.alias)
    visits.filter(status__in=STEPS).update(status="open")


class Migration(migrations.Migration):

    dependencies = [
        ("consult", "0007_held_next_visit"),
    ]

    operations = [
        migrations.RemoveConstraint(model_name="visit", name="visit_status_known"),
        migrations.AlterField(
            model_name="visit",
            name="status",
            field=models.CharField(
                choices=[
                    ("open", "open"),
                    ("closed", "closed"),
                    ("stopped", "ended without colour"),
                ],
                default="open",
                max_length=10,
            ),
        ),
        migrations.AlterField(
            model_name="visitevent",
            name="status",
            field=models.CharField(max_length=10),
        ),
        migrations.RunPython(keep_only_whether_it_is_open, migrations.RunPython.noop),
        migrations.AddConstraint(
            model_name="visit",
            constraint=models.CheckConstraint(
                condition=Q(status__in=["open", "closed", "stopped"]),
                name="visit_status_known",
            ),
        ),
    ]
