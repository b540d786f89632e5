"""Patch tests in every state, told for the clients whose story asks for one."""

import datetime as dt

from clients import services as desk
from clients.models import Client, PatchTest, ReadingOutcome, Site
from consult.demo.cast import OTHERS
from consult.demo.house import House
from formulas.models import ProductLine

_DAY = dt.timedelta(days=1)
_TWO_DAYS = dt.timedelta(hours=49)


def place_and_read(
    built: House,
    client: Client,
    line: ProductLine,
    placed_at: dt.datetime,
    *,
    outcome: str | None = ReadingOutcome.NO_REACTION,
    signs: str = "",
) -> PatchTest:
    """Place a test and, where it has an outcome, read it two days later."""
    test = desk.place_patch_test(
        client=client,
        line=line,
        site=built.random.choice(Site.values),
        batch=f"{built.random.randint(1000, 9999)}",
        applied_at=placed_at,
        by=built.desk,
        at=placed_at,
    )
    if outcome:
        desk.record_patch_test_reading(
            test=test, outcome=outcome, signs=signs, by=built.desk, at=placed_at + _TWO_DAYS
        )
    return test


def build(built: House) -> None:
    """Tell every patch-test story of the cast."""
    now = built.now
    for guest in OTHERS:
        client, line = built.clients[guest.name], built.lines[guest.line]
        match guest.story:
            case "waiting":
                place_and_read(built, client, line, now - _DAY, outcome=None)
            case "ready":
                place_and_read(built, client, line, now - 3 * _DAY, outcome=None)
            case "expired":
                place_and_read(built, client, line, now - 260 * _DAY)
            case "clear":
                place_and_read(built, client, line, now - built.random.randint(5, 90) * _DAY)
            case "reacted":
                place_and_read(
                    built,
                    client,
                    line,
                    now - 40 * _DAY,
                    outcome=ReadingOutcome.REACTION,
                    signs="Red, itching patch of about 2 cm since the first evening",
                )
            case "not returned":
                place_and_read(
                    built, client, line, now - 12 * _DAY, outcome=ReadingOutcome.NOT_RETURNED
                )
            case "late reaction":
                test = place_and_read(built, client, line, now - 30 * _DAY)
                desk.record_patch_test_reading(
                    test=test,
                    outcome=ReadingOutcome.REACTION,
                    signs="Rash behind the ear four days after the clear reading",
                    by=built.desk,
                    at=now - 24 * _DAY,
                )
            case "void":
                place_and_read(built, client, line, now - 50 * _DAY)
                desk.answer_safety_questions(
                    client=client,
                    answers={"black_henna": "yes"},
                    by=built.staff["oluchi"],
                    at=now - 6 * _DAY,
                )
