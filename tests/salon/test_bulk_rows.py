"""Rows that were written in bulk, as the database's planner sees them."""

import pytest
from django.db import connection

from salon.models import Salon
from salon.tools import bulk_rows


@pytest.mark.postgres
@pytest.mark.skipif(connection.vendor != "postgresql", reason="needs PostgreSQL")
@pytest.mark.django_db(transaction=True)
def test_what_was_filled_may_be_counted_from_an_index_alone(salon: Salon) -> None:
    """As in a salon that runs, where autovacuum has been over it (PostgreSQL manual, 25.1)."""
    with connection.cursor() as cursor:
        bulk_rows.settle()
        cursor.execute(
            "SELECT relpages, relallvisible FROM pg_class WHERE relname = %s",
            [Salon._meta.db_table],
        )
        pages, all_visible = cursor.fetchone()
    assert all_visible == pages > 0


def test_inside_of_a_transaction_only_the_statistics_are_brought_up_to_date(
    salon: Salon,
) -> None:
    bulk_rows.settle()

    assert Salon.objects.count() == 1
