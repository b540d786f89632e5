"""What follows after rows were written in bulk."""

from typing import Any

import pytest
from django.db import connection

from salon.tools import bulk_rows


def _settled() -> list[str]:
    """Return what is sent to the database."""
    sent: list[str] = []

    def noted(execute: Any, sql: str, *rest: Any) -> Any:
        sent.append(sql)
        return execute(sql, *rest)

    with connection.execute_wrapper(noted):
        bulk_rows.settle()
    return sent


@pytest.mark.postgres
@pytest.mark.skipif(connection.vendor != "postgresql", reason="needs PostgreSQL")
@pytest.mark.django_db(transaction=True)
def test_a_filled_salon_is_left_as_autovacuum_leaves_one() -> None:
    """Else no index answers alone which rows there are (PostgreSQL manual, 25.1.4)."""
    assert _settled() == ["VACUUM (ANALYZE)"]


@pytest.mark.django_db
def test_inside_of_a_transaction_only_the_statistics_are_brought_up_to_date() -> None:
    assert _settled() == ["ANALYZE"]
