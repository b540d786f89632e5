from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("consult", "0029_figures_of_redone_visits")]

    operations = [
        migrations.RemoveIndex("visitfigures", "figures_by_time"),
        migrations.AddIndex(
            "visitfigures",
            models.Index(
                fields=[
                    "salon", "opened_at", "line", "stylist", "days_since", "bowls", "weighed",
                    "grams", "developer_grams", "cost", "unpriced_grams",
                    "unpriced_developer_grams", "waste_grams", "waste_cost", "is_signed",
                    "is_tested", "is_redone", "is_overridden", "places",
                ],
                name="figures_summed_by_time",
            ),
        ),
    ]  # fmt: skip
