"""One visit, from the chair to the closed record, through the services."""

import datetime as dt
from decimal import Decimal

from consult.models import Status
from salon.models import Salon, Staff
from tests.factories.consult import opened


def test_a_visit_goes_from_the_safety_questions_to_the_closed_record(
    salon: Salon, stylist: Staff, now: dt.datetime
) -> None:
    story = opened(salon, stylist=stylist, at=now)

    visit = story.to_end()

    assert visit.status == Status.CLOSED
    assert visit.appointment.status == "done"
    kinds = [event.kind for event in visit.events.all()]
    assert kinds == [
        "visit opened",
        "safety answered",
        "hair read",
        "place chosen",
        "choice signed",
        "formula decided",
        "bowl mixed",
        "processing started",
        "rinsed",
        "result seen",
        "visit closed",
    ]
    assert [event.version for event in visit.events.all()] == list(range(1, 12))


def test_what_is_poured_leaves_the_shelf(
    salon: Salon, stylist: Staff, now: dt.datetime
) -> None:
    story = opened(salon, stylist=stylist, at=now).to_bench()

    (bowl,) = story.mix()

    for line in bowl.lines.all():
        (drawn,) = line.shade.movements.filter(reason="mixed")
        assert drawn.grams == -line.poured_grams
    assert sum(line.poured_grams for line in bowl.lines.all()) + bowl.developer_grams == (
        Decimal(60)
    )
