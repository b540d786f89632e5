"""The steps of a visit in their order, and what can be done in it."""

from enum import StrEnum

from django.utils.translation import gettext_lazy as _


class Step(StrEnum):
    """A step of a visit, named as its page."""

    SAFETY = "safety"
    HAIR = "hair"
    CHOICE = "choice"
    SIGN = "sign"
    FORMULA = "formula"
    BENCH = "bench"
    RESULT = "result"
    CARD = "card"


class Act(StrEnum):
    """Something that can be recorded in a visit."""

    ANSWER = "answer"
    READ = "read"
    CHOOSE = "choose"
    SIGN = "sign"
    DECIDE = "decide"
    MIX = "mix"
    START = "start"
    RINSE = "rinse"
    REACT = "react"
    SEE = "see"
    CLOSE = "close"
    STOP = "stop"


ORDER: tuple[Step, ...] = tuple(Step)
# What has to hold before anything is mixed, in this order.
BEFORE_MIXING: tuple[Step, ...] = ORDER[: ORDER.index(Step.BENCH)]

LABELS = {
    Step.SAFETY: _("Safety"),
    Step.HAIR: _("Hair"),
    Step.CHOICE: _("Choice"),
    Step.SIGN: _("Sign-off"),
    Step.FORMULA: _("Formula"),
    Step.BENCH: _("Bench"),
    Step.RESULT: _("Result"),
    Step.CARD: _("Card"),
}

DUE = {
    Step.SAFETY: _("safety questions due"),
    Step.HAIR: _("hair to be read"),
    Step.CHOICE: _("choice due"),
    Step.SIGN: _("sign-off due"),
    Step.FORMULA: _("formula due"),
    Step.BENCH: _("at the bench"),
    Step.RESULT: _("result due"),
    Step.CARD: _("ready to close"),
}
