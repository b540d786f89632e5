"""What is done next at the bench: the one button of the bar."""

import datetime as dt
from dataclasses import dataclass

from django.utils.translation import gettext as _

from consult import zones
from consult.visit.facts import VisitFacts
from consult.visit.path import Act


@dataclass(frozen=True)
class NextAct:
    """A form of the bench page that the bar sends: `form` is its id, `kind` what it records.

    `kind` is "mixed", "start" or "rinsed"; `bowl` is set for the last two.
    """

    kind: str
    form: str
    label: str
    bowl: int | None = None
    formula: int | None = None


def next_acts(facts: VisitFacts, *, at: dt.datetime) -> list[NextAct]:
    """Return what can be done at the bench now, the next act first.

    A bowl whose time is up is rinsed before anything else; a mixed one goes on before
    another is mixed.
    """
    several = len(facts.bowls) > 1 or len(facts.formulas) > 1
    rinse = [
        (state.started_at + dt.timedelta(minutes=state.formula.processing_minutes), state)
        for state in facts.running
        if state.started_at
    ]
    rinse.sort(key=lambda pair: pair[0])
    rinsing = [_rinsed(state.bowl.pk, state.formula.zones, several) for _due, state in rinse]
    due = [act for act, (end, _state) in zip(rinsing, rinse, strict=True) if end <= at]
    waiting = [
        _start(state.bowl.pk, state.formula.zones, several)
        for state in facts.bowls
        if not state.was_on and facts.may(Act.START)
    ]
    used = {state.formula.pk for state in facts.bowls}
    mixing = [
        _mixed(formula.pk, formula.zones, several)
        for formula in facts.formulas
        if formula.pk not in used and facts.may(Act.MIX)
    ]
    return [*due, *waiting, *mixing, *(act for act in rinsing if act not in due)]


def _named(label: str, key: str, several: bool) -> str:
    return f"{label}: {zones.words(key)}" if several else label


def _rinsed(bowl: int, key: str, several: bool) -> NextAct:
    return NextAct("rinsed", f"act-{bowl}", _named(_("Rinsed"), key, several), bowl=bowl)


def _start(bowl: int, key: str, several: bool) -> NextAct:
    words = _named(_("On the hair: start the clock"), key, several)
    return NextAct("start", f"act-{bowl}", words, bowl=bowl)


def _mixed(formula: int, key: str, several: bool) -> NextAct:
    words = _named(_("Bowl mixed"), key, several)
    return NextAct("mixed", f"weigh-{formula}", words, formula=formula)
