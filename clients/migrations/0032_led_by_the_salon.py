from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [("clients", "0031_record_moves")]

    operations = [
        migrations.AddIndex(
            "client",
            models.Index(fields=["salon", "search_name", "id"], name="client_by_name"),
        ),
        migrations.AlterField("client", "search_name", models.CharField(editable=False, max_length=200)),
        # Unread tests are found by the salon's lines and their time.
        migrations.RemoveIndex("patchtest", "patch_test_by_time"),
    ]
