from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ("formulas", "0016_salon_of_a_movement"),
    ]

    operations = [
        migrations.AddIndex(
            "stockmovement",
            models.Index(condition=models.Q(("reason", "discarded")), fields=["salon", "recorded_at"], name="movement_discarded"),
        ),
    ]
