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


# Of a story's test: how many days ago it was placed, and what was read of it.
PLACED: dict[str, tuple[int, str | None, str]] = {
    "waiting": (1, None, ""),
    "ready": (3, None, ""),
    "expired": (260, ReadingOutcome.NO_REACTION, ""),
    "reacted": (
        40, ReadingOutcome.REACTION, "Red, itching patch of about 2 cm since the first evening",
    ),
    "not returned": (12, ReadingOutcome.NOT_RETURNED, ""),
    "late reaction": (30, ReadingOutcome.NO_REACTION, ""),
    "void": (50, ReadingOutcome.NO_REACTION, ""),
}  # fmt: skip


def build(built: House) -> None:
    """Tell every patch-test story of the cast."""
    for guest in OTHERS:
        client, line = built.clients[guest.name], built.lines[guest.line]
        if guest.story == "clear":
            placed_at = built.now - built.random.randint(5, 90) * _DAY
            place_and_read(built, client, line, placed_at)
        elif guest.story in PLACED:
            days, outcome, signs = PLACED[guest.story]
            test = place_and_read(
                built, client, line, built.now - days * _DAY, outcome=outcome, signs=signs
            )
            _go_on(built, guest.story, test)


def _go_on(built: House, story: str, test: PatchTest) -> None:
    """Tell what came after the test was read."""
    if story == "late reaction":
        desk.record_patch_test_reading(
            test=test,
            outcome=ReadingOutcome.REACTION,
            signs="Rash behind the ear four days after the clear reading",
            by=built.desk,
            at=built.now - 24 * _DAY,
        )
    elif story == "void":
        desk.answer_safety_questions(
            client=test.client,
            answers={"black_henna": "yes"},
            by=built.staff["oluchi"],
            at=built.now - 6 * _DAY,
        )
