import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("consult", "0027_figures_beside_their_visit"),
        ("formulas", "0014_index_what_grows"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
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
