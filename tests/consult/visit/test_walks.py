"""Random orders of correct, sign again, decide again, mix, start, rinse, answer and react.

The walk keeps its own log of what was poured and put on, and asks the product after each act:
while colour is on the hair bench, "Rinsed" and the reaction are possible; and at the end every
paper, page, history row and learning row names exactly the bowls that were on the hair.
`WALKS=20 pytest tests/consult/visit/test_walks.py` walks further, by other ways.
"""

import datetime as dt
import os
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from decimal import Decimal
from html import unescape
from random import Random

import pytest
from django.template.loader import render_to_string
from django.test import Client as Browser
from django.urls import reverse

from consult import services, zones
from consult.history import costs, histories, line_results
from consult.models import BowlMixed, Visit
from consult.paper import content
from consult.templatetags.consult_tags import mix_words, poured_words
from consult.visit.bowls import BowlState
from consult.visit.path import Act, Step
from salon.models import Salon, Staff
from tests.factories.consult import Story, opened, zone

WALKS = int(os.environ.get("WALKS", "3"))
NEVER_ON = re.compile(
    r"(Planned but never mixed|Planned but not mixed|Mixed but never applied)[^<]*"
)


@dataclass
class Walk:
    """A visit under way, with what the walk itself knows of it."""

    story: Story
    random: Random
    tablet: Browser
    poured: dict[int, dict[str, Decimal]] = field(default_factory=dict)
    on: list[int] = field(default_factory=list)  # numbers of bowls, in the order of their start
    running: set[int] = field(default_factory=set)
    has_reacted: bool = False

    def step(self) -> None:
        """Do one act that the visit's facts allow."""
        acts: list[Callable[[], None]] = [
            self.correct, self.sign_again, self.decide, self.mix, self.mix, self.start,
            self.start, self.rinse, self.see, self.answer,
        ]  # fmt: skip
        self.random.choice(acts)()
        self.story.visit.refresh_from_db()
        self.check_open()

    def may(self, act: Act) -> bool:
        return self.story.facts.may(act)

    def correct(self) -> None:
        if self.may(Act.READ):
            level = Decimal(self.random.choice(("7.0", "7.5", "8.0")))
            self.story.read(roots=zone(lifted_level=level))

    def sign_again(self) -> None:
        if self.may(Act.CHOOSE):
            self.story.choose(self.random.choice((25.0, 45.0, 70.0)))
            self.story.sign()

    def decide(self) -> None:
        if self.may(Act.DECIDE):
            self.story.decide()

    def mix(self) -> None:
        if not self.may(Act.MIX):
            return
        formula = self.random.choice(list(self.story.facts.formulas))
        more = Decimal(self.random.choice(("0", "0", "0.3")))
        lines = list(formula.lines.select_related("shade"))
        bowl = services.mix_bowl(
            visit=self.story.visit,
            formula=formula,
            poured={line.shade_id: line.grams + more for line in lines},
            developer_grams=formula.developer_grams,
            by=self.story.by,
            at=self.story.later(1),
        )
        self.poured[bowl.number] = {line.shade.name: line.grams + more for line in lines}

    def start(self) -> None:
        waiting = [number for number in self.poured if number not in self.on]
        if waiting and self.may(Act.START):
            number = self.random.choice(waiting)
            services.start_processing(
                bowl=self.bowl(number), by=self.story.by, at=self.story.later(1)
            )
            self.on.append(number)
            self.running.add(number)

    def rinse(self) -> None:
        if self.running:
            number = self.random.choice(sorted(self.running))
            bowl = self.bowl(number)
            services.end_processing(bowl=bowl, by=self.story.by, at=self.story.later(9))
            if self.random.random() < 0.3:  # pressed by mistake
                services.undo_rinse(
                    bowl=self.bowl(number), by=self.story.by, at=self.story.later(0.5)
                )
            else:
                self.running.discard(number)

    def see(self) -> None:
        if self.may(Act.SEE):
            for group in self.story.facts.toned:
                if not group.is_running:
                    services.see_result(
                        visit=self.story.visit,
                        zones=group.zones,
                        level=Decimal("7.0"),
                        warmth_left_percent=40,
                        by=self.story.by,
                        at=self.story.later(1),
                    )

    def answer(self) -> None:
        self.story.answer(scalp=self.random.choice(("no", "no", "yes")))

    def react(self) -> None:
        services.report_reaction(
            visit=self.story.visit, by=self.story.by, at=self.story.later(1)
        )
        self.running.clear()
        self.has_reacted = True

    def bowl(self, number: int) -> BowlMixed:
        return self.story.fresh(self.story.visit.bowls.get(number=number))

    def check_open(self) -> None:
        """While colour is on the hair nothing shuts the safe acts."""
        facts = self.story.facts
        assert {state.bowl.number for state in facts.running} == self.running
        if not self.running:
            return
        assert facts.due == Step.BENCH
        assert facts.is_open(Step.BENCH)
        assert facts.is_open(Step.RESULT)
        assert facts.may(Act.RINSE)
        assert facts.may(Act.REACT)

    def check_bench(self) -> None:
        """The bench itself offers every rinse and the reaction."""
        page = self.tablet.get(self.at("bench"))
        assert page.status_code == 200
        for number in self.running:
            assert reverse("consult:end", args=[self.story.visit.pk, self.bowl(number).pk]) in (
                page.text
            )
        assert ("Reaction: rinse now" in page.text) == bool(self.running)

    def at(self, name: str) -> str:
        return reverse(f"consult:{name}", args=[self.story.visit.pk])


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(WALKS))
def test_every_telling_names_exactly_the_bowls_that_were_on_the_hair(
    salon: Salon, stylist: Staff, tablet: Browser, now: dt.datetime, seed: int
) -> None:
    story = opened(salon, stylist=stylist, at=now - dt.timedelta(hours=14))
    walk = Walk(story.to_bench(), Random(seed), tablet)  # noqa: S311
    walk.mix()
    walk.start()
    story.visit.refresh_from_db()

    for turn in range(16):
        walk.step()
        if turn % 5 == 0:
            walk.check_bench()
    if walk.running and seed % 3 == 0:
        walk.check_bench()
        walk.react()
    _finish(walk)

    _check_record(walk)
    _check_words(walk)
    _check_learning(walk)
    of_salon = Visit.objects.filter(salon=salon)
    since, until = now - dt.timedelta(days=1), now + dt.timedelta(days=1)
    found = costs.costs_of(of_salon, salon=salon, since=since, until=until)
    spent = found.of("line", story.visit.line_id)
    assert spent.grams == sum((sum(bowl.values()) for bowl in walk.poured.values()), Decimal(0))


def _finish(walk: Walk) -> None:
    story = walk.story
    while walk.running:
        walk.rinse()
    story.visit.refresh_from_db()
    if walk.has_reacted:
        services.describe_reaction(
            visit=story.visit, signs=["itching"], by=story.by, at=story.later()
        )
    else:
        walk.see()
    story.close()


def _zones_on(walk: Walk) -> dict[str, list[int]]:
    """Return the bowls that were on each zone, in their order, from the walk's own log."""
    found: dict[str, list[int]] = {}
    for number in walk.on:
        for one in zones.Group(walk.bowl(number).formula.zones).members:
            found.setdefault(one, []).append(number)
    return found


def _numbers(bowls: "tuple[BowlState, ...] | list[BowlState]") -> list[int]:
    return [state.bowl.number for state in bowls]


def _check_record(walk: Walk) -> None:
    told = histories.records_of(histories.tones_of(walk.story.visit.client)[:1])[0]
    wanted = _zones_on(walk)
    named = {
        one: _numbers(list(group.bowls))
        for group in told.groups
        for one in zones.Group(group.zones).members
        if group.bowls
    }
    assert named == wanted
    for group in told.groups:
        assert group.is_comparable <= (len({s.formula.pk for s in group.bowls}) == 1)
        for state in group.bowls:
            lines = {line.shade.name: line.poured_grams for line in state.bowl.lines.all()}
            assert lines == walk.poured[state.bowl.number]
    assert set(_numbers(list(told.unused))) == set(walk.poured) - set(walk.on)


def _check_words(walk: Walk) -> None:
    """Pages and papers name each mix on the hair, and no other one but as never on."""
    visit = walk.story.visit
    card = content.visit_card(visit)
    bench_card = {**card, "qr": "", "address": ""}
    told = [
        walk.tablet.get(walk.at("visit")).text,
        walk.tablet.get(reverse("consult:tones", args=[visit.client_id])).text,
        render_to_string("cards/bench.html", bench_card),
        render_to_string("cards/bench.html", {**bench_card, "flows": True}),
    ]
    small = render_to_string("cards/visit_small.html", card)
    whole = render_to_string("cards/visit.html", card)
    on = [walk.bowl(number) for number in walk.on]
    mixes = {mix_words(bowl.formula) for bowl in on}
    others = {mix_words(formula) for formula in visit.formulas.all()} - mixes
    for text in map(unescape, [*told, small]):
        said = NEVER_ON.sub("", text)
        assert all(mix in said for mix in mixes)
        assert not any(mix in said for mix in others if not any(mix in m for m in mixes))
    for text in map(unescape, told[:2]):
        assert all(poured_words(bowl) in text for bowl in on)
    shades = {name for number in walk.on for name in walk.poured[number]}
    rows = set(re.findall(r'<th scope="row">\s*([^<]+?)\s*(?:<span|</th>)', unescape(whole)))
    assert {name for bowl in walk.poured.values() for name in bowl} & rows <= shades
    assert shades <= rows


def _check_learning(walk: Walk) -> None:
    """A learning row is one mix, as poured; nothing after a reaction or under two mixes."""
    rows = line_results.results_of(walk.story.visit.line)
    wanted = []
    for numbers in {tuple(numbers) for numbers in _zones_on(walk).values()}:
        if len({walk.bowl(number).formula_id for number in numbers}) == 1:
            parts: dict[str, float] = {}
            for number in numbers:
                for name, grams in walk.poured[number].items():
                    parts[name] = parts.get(name, 0.0) + float(grams)
            wanted.append(pytest.approx(parts))
    for row in rows:
        assert dict(row.parts) in wanted
    assert bool(rows) == (bool(wanted) and not walk.has_reacted)
