"""The tests on the hair: how each is done, when it is called for, and what its result asks.

Sources: the incompatibility test as vocational worksheets teach it (20 parts of 6 % peroxide
to 1 part of ammonium hydroxide, up to 30 minutes; fizz, heat or a colour change means do not
colour). The other three are common practice, no source. The manufacturer's instructions come
first, and a licensed professional decides.
"""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from clients.models import Answer, HairWork
from clients.selectors import hair_history, safety_answers_in_force
from consult import selectors, zones
from consult.hair import banding
from consult.models import PreTest, PreTestKind, PreTestResult, StepKind, Visit

if TYPE_CHECKING:
    from django_stubs_ext import StrPromise
else:
    StrPromise = Any

WORKSHEETS = gettext_lazy("As taught on vocational worksheets.")
NO_SOURCE = gettext_lazy("Common practice, no source.")


@dataclass(frozen=True)
class Procedure:
    """How a test is done, step by step, and who says so."""

    steps: tuple[StrPromise, ...]
    source: StrPromise


PROCEDURES: dict[str, Procedure] = {
    PreTestKind.INCOMPATIBILITY: Procedure(
        (
            gettext_lazy("Gloves and goggles on. Work away from the client, in fresh air."),
            gettext_lazy("Cut a few hairs from where the old product is, and tie them."),
            gettext_lazy(
                "In a glass or plastic bowl, never metal: 20 parts of 6 % peroxide to 1 part "
                "of ammonium hydroxide."
            ),
            gettext_lazy("Put the hairs in and watch for up to 30 minutes."),
            gettext_lazy(
                "Fizzing, heat, steam or a colour change: there are metal salts on the "
                "hair. Do not colour, lighten or perm it."
            ),
        ),
        WORKSHEETS,
    ),
    PreTestKind.ELASTICITY: Procedure(
        (
            gettext_lazy("Wet one strand, and take one hair from it at a time."),
            gettext_lazy("Hold it near the root and at the end, and pull gently."),
            gettext_lazy("Let go and watch: sound hair stretches and springs back."),
            gettext_lazy("Do this in each zone, above all where the hair was lightened."),
        ),
        NO_SOURCE,
    ),
    PreTestKind.POROSITY: Procedure(
        (
            gettext_lazy("On clean, dry hair, hold a few hairs by their ends."),
            gettext_lazy("Slide two fingers along them towards the scalp."),
            gettext_lazy(
                "Smooth hair takes colour slowly; rough hair takes it fast and loses it fast."
            ),
            gettext_lazy("Do this in each zone, and enter the porosity with the reading."),
        ),
        NO_SOURCE,
    ),
    PreTestKind.STRAND: Procedure(
        (
            gettext_lazy("Mix a little of the planned formula, with its own developer."),
            gettext_lazy("Put it on a thin strand that does not show; protect the rest."),
            gettext_lazy("Leave it on for the planned time and look every few minutes."),
            gettext_lazy("Rinse, dry it fully, and compare it with the prediction."),
            gettext_lazy("Stretch it gently. If it weakens, do not colour the hair."),
        ),
        NO_SOURCE,
    ),
}

# What a result asks for besides being noted; `consult.hair.stops` has those that forbid colour.
ADVICE: dict[str, StrPromise] = {
    PreTestResult.SLOW: gettext_lazy("Weakened hair: gentler product, shorter time, no heat."),
    PreTestResult.ROUGH: gettext_lazy("Takes colour fast: look early, and read it as porous."),
    PreTestResult.DEEPER: gettext_lazy("Choose a lighter place, or shorten the time."),
    PreTestResult.WARMER: gettext_lazy("Choose a cooler place, or check the level again."),
}

# Old work on the hair that may hold metal salts (surely, or perhaps), or that weakens it.
_METALLIC = {HairWork.METALLIC, HairWork.HENNA}
_PERHAPS_METALLIC = {HairWork.BOX_COLOUR}
_WEAKENING = {HairWork.LIGHTENING, HairWork.STRAIGHTENING, HairWork.PERM}


@dataclass
class TestRequest:
    """One kind of test in a visit: why it is called for, and what it showed."""

    kind: PreTestKind
    reasons: list[str] = field(default_factory=list)
    is_required: bool = False
    done: list[PreTest] = field(default_factory=list)

    @property
    def is_due(self) -> bool:
        """Whether it is called for and not done yet."""
        return bool(self.reasons) and not self.done

    @property
    def procedure(self) -> Procedure:
        """How it is done."""
        return PROCEDURES[self.kind]


def test_requests(visit: Visit, *, at: dt.datetime) -> list[TestRequest]:
    """Return every kind of test with the reasons that call for it today."""
    found = {kind: TestRequest(kind) for kind in PreTestKind}
    for test in selectors.pre_tests_of(visit):
        found[PreTestKind(test.kind)].done.append(test)
    answers = safety_answers_in_force(client=visit.client)
    works = {entry.work for entry in hair_history(client=visit.client, at=at)}
    _add_incompatibility_reasons(found[PreTestKind.INCOMPATIBILITY], answers, works)
    weakened = []
    if works & _WEAKENING:
        weakened.append(_("Lightened, straightened or permed before."))
    if any(step.kind == StepKind.LIGHTENING for step in selectors.steps_in_force(visit)):
        weakened.append(_("Lightened today."))
    if _answered_yes(answers, "breakage"):
        weakened.append(_("The client reports breakage or hair loss."))
    if any(row.porosity > 0 for row in selectors.readings_in_force(visit).values()):
        weakened.append(_("The hair was read as porous."))
    found[PreTestKind.ELASTICITY].reasons += weakened
    found[PreTestKind.POROSITY].reasons += weakened
    bands = banding.banded_zones(selectors.readings_in_force(visit).values())
    if bands:
        found[PreTestKind.STRAND].reasons.append(
            _("Bands in %(zones)s: test on a band and beside it.")
            % {"zones": zones.words(zones.Group.of(bands))}
        )
    toned = Visit.objects.of_person(visit.client).closed()
    if not toned.filter(line=visit.line_id).exists():
        found[PreTestKind.STRAND].reasons.append(_("First time with this product line."))
    return list(found.values())


def is_incompatibility_due(visit: Visit, *, at: dt.datetime) -> bool:
    """Return whether the test that metal salts demand has not been done in this visit."""
    if any(test.kind == PreTestKind.INCOMPATIBILITY for test in selectors.pre_tests_of(visit)):
        return False
    request = TestRequest(PreTestKind.INCOMPATIBILITY)
    works = {entry.work for entry in hair_history(client=visit.client, at=at)}
    _add_incompatibility_reasons(request, safety_answers_in_force(client=visit.client), works)
    return request.is_required


def _add_incompatibility_reasons(
    request: TestRequest, answers: Any, works: Iterable[str]
) -> None:
    works_done = set(works)
    if _answered_yes(answers, "metallic"):
        request.reasons.append(
            _("The client mentions henna, metallic dye or a colour restorer.")
        )
    if works_done & _METALLIC:
        request.reasons.append(_("Henna or metallic salts are in the hair history."))
    request.is_required = bool(request.reasons)
    if works_done & _PERHAPS_METALLIC:
        request.reasons.append(
            _("Box colour is in the hair history; some contains metal salts.")
        )


def _answered_yes(answers: Any, question: str) -> bool:
    return question in answers and answers[question].answer == Answer.YES
