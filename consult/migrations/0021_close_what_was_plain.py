from django.db import migrations

from clients.sealed.fields import close_rows, sealed_fields
from salon import triggers


def close(apps, schema_editor):
    """Encrypt the words that are stored plain, under keys of their clients."""
    models = [model for model in apps.get_app_config("consult").get_models() if sealed_fields(model)]
    triggers.suspend(schema_editor.connection, tables=[model._meta.db_table for model in models])
    for model in models:
        close_rows(model)


class Migration(migrations.Migration):

    dependencies = [("consult", "0020_sealed_words"), ("clients", "0024_close_what_was_plain")]

    operations = [migrations.RunPython(close, migrations.RunPython.noop)]
