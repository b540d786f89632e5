"""With five hundred salons in one database no page of one pays for the others."""

import pytest
import time_machine
from django.db import connection
from django.test import Client as Browser
from django.utils import timezone

from consult.demo import cast
from salon.models import Role, Salon
from tests.browser.pages import walk
from tests.every_page import PageAddress, every_page
from tests.factories.consult import opened
from tests.factories.photos import agree
from tests.factories.salon import SalonFactory, StaffFactory
from tests.project.many_salons import Cost, copy_rows, counted, last_rows

pytestmark = pytest.mark.slow
SALONS = 500
NAMES = {Role.OWNER: "brigid", Role.STYLIST: "tomasz", Role.RECEPTIONIST: "imke"}
# Another plan may suit a table that is no longer small; a look at one row of each other salon
# would be more than that.
MORE, SLACK = 1.15, 450 if connection.vendor == "postgresql" else 1200
# It lists the looks that the test itself causes.
GROWS_HERE = {"clients:who_looked"}


def _small_salon() -> None:
    """A salon with two visits behind it, one of them signed, mixed, seen and closed."""
    salon = SalonFactory(name="Small")
    for role in (Role.OWNER, Role.RECEPTIONIST):
        StaffFactory(salon=salon, role=role)
    stylist = StaffFactory(salon=salon, role=Role.STYLIST, has_column=True)
    at = timezone.now()
    for name, is_whole in (("Ada Brandt", True), ("Bea Coll", False), ("Cy Dunn", False)):
        story = opened(salon, stylist=stylist, at=at, name=name)
        agree(story.visit.appointment, stylist, at)
        if is_whole:
            story.to_end()
        at = at.replace(hour=at.hour + 2)


def _measured(pages: list[PageAddress]) -> dict[str, Cost]:
    """Return what each page reads that answers, opened for the second time."""
    found, browsers = {}, {}
    for role, name in NAMES.items():
        browsers[role] = Browser()
        browsers[role].post("/sign-in/", {"username": name, "password": cast.PASSWORD})
    for page in pages:
        role = next(role for role in NAMES if role in page.roles)
        if browsers[role].get(page.path).status_code == 405:
            continue
        with counted() as cost:
            answer = browsers[role].get(page.path)
            if answer.streaming:
                answer.getvalue()
        found[page.name] = cost
    return found


@pytest.mark.django_db
def test_no_page_reads_more_because_of_other_salons() -> None:
    with time_machine.travel(walk.MOMENT, tick=False):
        walk.fill()
        pages = [page for page in every_page() if not page.path.endswith("pdf")]
        before = last_rows()
        with connection.cursor() as cursor:
            cursor.execute("ANALYZE")
        alone = _measured(pages)
        _small_salon()
        copy_rows(before, SALONS - Salon.objects.count())
        assert Salon.objects.count() == SALONS

        among_many = _measured(pages)

    assert len(alone) > 60
    grown = {
        name: cost.grown(alone[name])
        for name, cost in among_many.items()
        if len(cost.sent) > len(alone[name].sent)
        or cost.total > alone[name].total * MORE + SLACK
    }
    assert grown.keys() <= GROWS_HERE, "\n".join(
        f"{name}: {sql}" for name, sql in grown.items()
    )
