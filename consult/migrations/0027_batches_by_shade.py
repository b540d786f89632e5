from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [("consult", "0026_runs_of_visits")]

    operations = [
        migrations.AddIndex(
            "bowlline",
            models.Index(condition=models.Q(("batch", ""), _negated=True), fields=["shade", "id"], name="bowl_line_by_batch"),
        ),
    ]
