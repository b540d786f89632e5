from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("consult", "0030_figures_from_one_index")]

    operations = [
        migrations.RemoveIndex("visitfigures", "figures_summed_by_time"),
        migrations.AddIndex(
            "visitfigures",
            models.Index(
                fields=[
                    "salon", "line", "stylist", "opened_at", "bowls", "weighed", "grams",
                    "developer_grams", "cost", "unpriced_grams", "unpriced_developer_grams",
                    "waste_grams", "waste_cost", "is_signed", "is_tested", "is_redone",
                    "is_overridden", "places",
                ],
                name="figures_summed_by_group",
            ),
        ),
        migrations.AddIndex(
            "visitfigures",
            models.Index(
                fields=[
                    "salon", "opened_at", "days_since", "depth_run_below", "warmth_run_below",
                ],
                name="figures_by_time",
            ),
        ),
    ]  # fmt: skip
