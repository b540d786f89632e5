"""One filled salon behind one live server for every test of this folder."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser
from pytest_django import DjangoDbBlocker

from tests.browser.pages.walk import Walk, walking


@pytest.fixture(scope="package", name="db")
def filled_database(
    database_in_a_file: None,
    django_db_setup: None,
    django_db_blocker: DjangoDbBlocker,
    browser: Browser,
) -> Iterator[Walk]:
    """Stand in for `db`: the rows stay from test to test."""
    with django_db_blocker.unblock(), walking(browser) as filled:
        yield filled


@pytest.fixture
def walk(db: Walk) -> Iterator[Walk]:
    """The filled salon; each test's browsers are closed behind it."""
    yield db
    db.close()
