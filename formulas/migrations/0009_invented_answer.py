from django.db import migrations, models

# The names under which earlier releases added the engine's invented lines, unmarked.
DEMO_LINES = ["Tidepool", "Slatecliff"]


def mark_the_demo_lines(apps, schema_editor):
    """Mark them as invented: an owner whose own line has such a name says so once."""
    lines = apps.get_model("formulas", "ProductLine").objects.using(schema_editor.connection.alias)
    lines.filter(name__in=DEMO_LINES).update(is_starting_point=True)


class Migration(migrations.Migration):
    dependencies = [
        ("formulas", "0008_practice_rules"),
        ("salon", "0006_may_import_lists"),
    ]

    operations = [
        migrations.AddField(
            model_name="productline",
            name="invented_answer",
            field=models.CharField(
                blank=True,
                choices=[
                    ("known", "We know: these are the demo's values"),
                    ("own", "It is our own line now"),
                ],
                default="",
                editable=False,
                max_length=5,
            ),
        ),
        migrations.AddField(
            model_name="productline",
            name="invented_answered_at",
            field=models.DateTimeField(blank=True, editable=False, null=True),
        ),
        migrations.AddConstraint(
            model_name="productline",
            constraint=models.CheckConstraint(
                condition=models.Q(("invented_answer__in", ["", "known", "own"])),
                name="line_invented_answer_known",
            ),
        ),
        migrations.RunPython(mark_the_demo_lines, migrations.RunPython.noop),
    ]
