"""What is added to the address of a database."""

import environ
import pytest
from django.db import connection

from salon import database_setting

ADDRESS = "postgres://salon@db/salon"


def _options(address: str) -> str:
    prepared = database_setting.prepared(environ.Env.db_url_config(address))
    options: str = prepared["OPTIONS"]["options"]
    return options


def test_postgresql_does_not_compile_plans_by_default(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.delenv("PGOPTIONS", raising=False)
    assert _options(ADDRESS) == "-c jit=off"

    monkeypatch.setenv("PGOPTIONS", "-c work_mem=8MB")
    options = _options(f"{ADDRESS}?options=-c%20jit=on")
    assert options == "-c jit=off -c work_mem=8MB -c jit=on"  # the last of two counts


def test_a_replica_is_read_only_and_does_not_compile_plans() -> None:
    of = environ.Env.db_url_config(ADDRESS)

    replica = database_setting.replica(of, of=database_setting.prepared(of))

    assert replica["OPTIONS"]["options"].startswith("-c jit=off")
    assert "default_transaction_read_only=on" in replica["OPTIONS"]["options"]
    assert replica["OPTIONS"]["connect_timeout"] == 2


@pytest.mark.django_db
@pytest.mark.skipif(connection.vendor != "postgresql", reason="needs PostgreSQL")
def test_the_server_hears_of_it() -> None:
    with connection.cursor() as cursor:
        cursor.execute("SHOW jit")
        assert cursor.fetchone() == ("off",)
