"""Clients of an older release are found in the new ways once their salon is migrated."""

from importlib import import_module

from django.apps import apps

from clients.models import SearchKey
from clients.selectors import find_clients
from salon.models import Salon
from tests.factories.clients import ClientFactory

migration = import_module("clients.migrations.0014_more_search_keys")


def test_the_migration_adds_the_keys_that_are_missing_and_no_key_twice(salon: Salon) -> None:
    client = ClientFactory(salon=salon, name="王小明", phone="+441174960102")
    wanted = sorted(SearchKey.objects.values_list("key", flat=True))
    SearchKey.objects.exclude(key="王小明").delete()
    assert find_clients(salon=salon, text="xiaoming") == []

    migration.add_missing_keys(apps, None)
    migration.add_missing_keys(apps, None)

    assert sorted(SearchKey.objects.values_list("key", flat=True)) == wanted
    assert find_clients(salon=salon, text="xiaoming") == [client]
