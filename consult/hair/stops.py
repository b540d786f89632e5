"""What found on the hair forbids colour in this visit, whoever would wish otherwise.

Beside the gate (`clients.skin_test.gate`), which knows the skin test, the answers and the
age. There is no override: a reaction of the strand counts for the whole visit, weak hair
until a new test of the same zone shows otherwise.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from consult import selectors, zones
from consult.models import HairFacts, PreTest, PreTestKind, PreTestResult, Scalp, Visit
from salon.refusals import Refused


class Stopped(Refused):
    """Raised where something found on the hair forbids colour."""


@dataclass(frozen=True)
class Stop:
    """Why colour stops, and what to do instead."""

    code: str
    reason: str
    advice: str


def stops_of(visit: Visit, facts: HairFacts | None) -> list[Stop]:
    """Return what forbids colour in this visit, with the `facts` in force, gravest first."""
    return found_in(selectors.pre_tests_of(visit), facts)


def found_in(tests: Sequence[PreTest], facts: HairFacts | None) -> list[Stop]:
    """Return what some tests and facts of the hair forbid, gravest first."""
    found = []
    if any(test.result == PreTestResult.REACTED for test in tests):
        found.append(
            Stop(
                "reacted",
                _(
                    "The strand fizzed, heated up or changed colour: there are metal salts "
                    "on the hair."
                ),
                _(
                    "Do not colour, lighten or perm. Let it grow out or cut it off, and test "
                    "again at another visit. Nobody can override this."
                ),
            )
        )
    found += [_weak(test) for test in _latest(tests).values() if test.result in _WEAK]
    if facts and facts.scalp_state == Scalp.SORE:
        found.append(
            Stop(
                "scalp",
                _("The scalp is red, sore or broken."),
                _("Do not colour. Wait until it has healed; suggest a doctor or pharmacist."),
            )
        )
    return found


def check_not_stopped(visit: Visit) -> None:
    """Refuse to go on where something found on the hair forbids colour."""
    found = stops_of(visit, selectors.facts_in_force(visit))
    if found:
        sentence = " ".join(f"{stop.reason} {stop.advice}" for stop in found)
        raise Stopped(sentence, code=found[0].code)


_WEAK = {PreTestResult.BREAKS, PreTestResult.WEAKENED}


def _latest(tests: Sequence[PreTest]) -> dict[tuple[str, str], PreTest]:
    """Return the latest test of each kind and zone; one of all the hair covers every zone."""
    latest: dict[tuple[str, str], PreTest] = {}
    for test in tests:
        if not test.zone:
            latest = {key: row for key, row in latest.items() if key[0] != test.kind}
        latest[test.kind, test.zone] = test
    return latest


def _weak(test: PreTest) -> Stop:
    where = zones.title(test.zone) if test.zone else _("The hair")
    if test.kind == PreTestKind.ELASTICITY:
        reason = _("%(where)s: it stays stretched, or breaks when pulled wet.")
    else:
        reason = _("%(where)s: the strand test weakened or broke it.")
    return Stop(
        str(test.result),
        reason % {"where": where},
        _(
            "Do not colour. Cut off what is broken, strengthen the hair over some "
            "weeks, and test again before any chemical work."
        ),
    )
