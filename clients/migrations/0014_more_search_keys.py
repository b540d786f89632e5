"""Find existing clients by another script, the middle of a phone number, and their birthday."""

from django.db import migrations

from clients.people.search_index import keys_of

BATCH = 500


def add_missing_keys(apps, schema_editor):
    Client = apps.get_model("clients", "Client")
    SearchKey = apps.get_model("clients", "SearchKey")
    after = 0
    while batch := list(Client.objects.filter(pk__gt=after).order_by("pk")[:BATCH]):
        after = batch[-1].pk
        rows = SearchKey.objects.filter(client__in=[client.pk for client in batch])
        existing = set(rows.values_list("client_id", "key"))
        SearchKey.objects.bulk_create(
            (
                SearchKey(salon_id=client.salon_id, client_id=client.pk, key=key)
                for client in batch
                for key in sorted(keys_of(client))
                if (client.pk, key) not in existing
            ),
            batch_size=2000,
        )


class Migration(migrations.Migration):

    dependencies = [("clients", "0013_desk_day")]

    operations = [migrations.RunPython(add_missing_keys, migrations.RunPython.noop)]
