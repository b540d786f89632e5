"""Whatever happens in a salon, what visits keep gives the figures that their records give."""

import datetime as dt
from collections.abc import Callable
from dataclasses import astuple
from decimal import Decimal
from random import Random

import pytest
from django.core.management import call_command
from django.db import transaction

from clients import services as desk
from clients.models import (
    AlertCode,
    AlertKind,
    Client,
    ClientMerge,
    ErasureReason,
    PatchOverride,
    RestrictionReason,
)
from clients.services import privacy
from consult.history import (
    conduct,
    control,
    costs,
    fade,
    kept_figures,
    looks,
    overview,
)
from consult.history.question import Question, visits_in_question
from consult.models import (
    Reaction,
    ReactionKind,
    Status,
    StepKind,
    Visit,
    VisitFigures,
    VisitStep,
)
from salon.models import Role, Salon, Staff
from tests.factories.history import ALL, Past
from tests.factories.salon import StaffFactory


class _Back(Exception):
    """Takes back what was tried."""


Runs = dict[int, list[tuple[str, str, control.Run]]]
Figures = tuple[conduct.Counts, costs.Costs, list[looks.Look], Runs, list[fade.Weeks]]


def _kept_figures(question: Question) -> Figures:
    visits, salon = visits_in_question(question), question.salon
    seen = looks.of_visits(visits)
    return (
        conduct.counts_of(question),
        costs.by_group(question),
        seen,
        runs_of(salon, question.until),
        fade.fade_of(seen, salon=salon),
    )


def runs_of(salon: Salon, at: dt.datetime) -> Runs:
    """Return what the owner's page names, however many visits its salon has."""
    _known, runs = overview.runs_now(salon=salon, at=at)
    return {pk: [(one.zones, one.number, one.run) for one in own] for pk, own in runs.items()}


def _from_records(question: Question) -> Figures:
    """Return the same with nothing kept; costs added up visit by visit."""
    try:
        with transaction.atomic():
            VisitFigures.objects.all().delete()
            counts, _spent, seen, runs, faded = _kept_figures(question)
            raise _Back
    except _Back:
        spent = costs.costs_of(
            visits_in_question(question), salon=question.salon,
            since=question.since, until=question.until,
        )  # fmt: skip
        return counts, spent, seen, runs, faded


def _compare(question: Question) -> None:
    counts, spent, seen, runs, faded = _kept_figures(question)
    fresh_counts, fresh_spent, fresh_seen, fresh_runs, fresh_faded = _from_records(question)
    assert +counts.of == +fresh_counts.of
    assert (counts.coloured, counts.chosen) == (fresh_counts.coloured, fresh_counts.chosen)
    assert seen == fresh_seen
    assert runs == fresh_runs
    assert faded == fresh_faded
    assert spent.by_group.keys() == fresh_spent.by_group.keys()
    for key, own in spent.by_group.items():
        for value, fresh in zip(astuple(own), astuple(fresh_spent.by_group[key]), strict=True):
            assert abs(value - fresh) < Decimal("0.01"), key


class _Story:
    """What may happen in a salon, in any order."""

    def __init__(self, past: Past, seed: int) -> None:
        self.dice, self.past = Random(seed), past  # noqa: S311  a story, no secret
        self.salon, self.owner, self.now = past.salon, past.by, past.now
        self.stylists = [StaffFactory(salon=past.salon, role=Role.STYLIST) for _ in range(2)]
        self.lines = [past.line("Tidepool"), past.line("Harbour")]
        self.people = [past.client(f"Client {n}") for n in range(4)]
        self.visits: list[Visit] = []
        self.begun: list[Visit] = []

    def visit(self, corrects: Visit | None = None) -> None:
        client = corrects.client if corrects else self.dice.choice(self.people)
        seen = self.dice.choice(
            [None, {"roots": (0.2, -3.0), "mid_lengths,ends": (0.4, 5.0)}, {ALL: (1.6, 40.0)}]
        )
        new = self.past.visit(
            client, self.dice.choice(self.lines), self.dice.choice(self.stylists),
            days_ago=self.dice.randrange(1, 150), seen=seen, corrects=corrects,
            read=self.dice.choice([7.0, 7.5, 8.0]),
        )  # fmt: skip
        self.visits.append(new)
        if self.dice.random() < 0.7:  # the others are as an earlier release left them
            kept_figures.keep([new.pk], salon=self.salon)

    def correct(self) -> None:
        self.visit(self.dice.choice(self.visits))

    def begin(self) -> None:
        """Somebody sits in the chair, is read, and perhaps lightened first."""
        new = self.past.visit(
            self.dice.choice(self.people), self.lines[0], self.stylists[0],
            days_ago=self.dice.randrange(60), read=9.0,
        )  # fmt: skip
        if self.dice.random() < 0.5:
            VisitStep.objects.create(
                visit=new, number=1, kind=StepKind.LIGHTENING, product="powder", zones="ends",
                ended_at=new.opened_at - dt.timedelta(minutes=5), recorded_at=new.opened_at,
                recorded_by=self.owner,
            )  # fmt: skip
        Visit.objects.filter(pk=new.pk).update(status=Status.OPEN, closed_at=None)
        self.begun.append(new)

    def end(self) -> None:
        if not self.begun:
            return
        new = self.begun.pop()
        status = self.dice.choice([Status.CLOSED, Status.STOPPED])
        Visit.objects.filter(pk=new.pk).update(status=status, closed_at=self.now)
        if status == Status.CLOSED:
            self.visits.append(new)
            kept_figures.keep([new.pk], salon=self.salon)
        else:
            kept_figures.note_end(new)

    def react(self) -> None:
        seen = self.dice.choice(self.visits)
        if not seen.reactions.exists() and not Client.objects.get(pk=seen.client_id).shut:
            alert = desk.raise_alert(
                client=seen.client, kind=AlertKind.REACTION, code=AlertCode.COLOUR_REACTION,
                details={"line": seen.line.name}, by=self.owner, at=self.now,
            )  # fmt: skip
            Reaction.objects.create(
                visit=seen, kind=ReactionKind.PRESSED, alert=alert, recorded_at=self.now,
                recorded_by=self.owner,
            )  # fmt: skip

    def allow(self) -> None:
        """An owner writes it down, perhaps long after."""
        booked = self.dice.choice(self.visits).appointment
        if not PatchOverride.objects.filter(appointment=booked).exists():
            PatchOverride.objects.create(
                appointment=booked, reason="in writing", recorded_at=self.now,
                recorded_by=self.owner,
            )  # fmt: skip

    def merge(self) -> None:
        first, second = self.dice.sample(self.people, 2)
        rows = Client.objects.in_bulk([first.pk, second.pk])
        if not any(row.merged_into_id or row.shut for row in rows.values()):
            desk.merge_clients(
                kept=rows[first.pk], merged=rows[second.pk], by=self.owner, at=self.now,
                is_same_body=True,
            )  # fmt: skip

    def undo(self) -> None:
        last = ClientMerge.objects.filter(undone_at__isnull=True).first()
        if last and not last.kept.shut:
            desk.undo_merge(merge=last, by=self.owner, at=self.now)

    def shut(self) -> None:
        client = Client.objects.get(pk=self.dice.choice(self.people).pk)
        if not client.merged_into_id and not client.shut:
            desk.restrict_client(
                client=client, reason=RestrictionReason.CLAIMS, by=self.owner, at=self.now
            )

    def erase(self) -> None:
        client = Client.objects.get(pk=self.people[-1].pk)
        open_now = Visit.objects.open().filter(client=client).exists()
        if not client.merged_into_id and not client.shut and not open_now:
            privacy.erase(
                client=client, reason=ErasureReason.IN_PERSON, at=self.now,
                recorded_by=self.owner,
            )  # fmt: skip

    def go_on(self) -> None:
        """Let anything happen."""
        acts: list[Callable[[], None]] = [
            self.visit, self.visit, self.correct, self.react, self.allow, self.merge,
            self.undo, self.shut, self.erase, self.begin, self.end, self.end,
        ]  # fmt: skip
        self.dice.choice(acts)()


@pytest.mark.parametrize("seed", range(3))
def test_whatever_happens_sums_are_those_of_the_records(
    salon: Salon, owner: Staff, now: dt.datetime, seed: int
) -> None:
    story = _Story(Past(salon, owner, now), seed)
    everyone = Question(salon, (now - dt.timedelta(days=200)).date(), now.date())
    for _ in range(3):
        story.visit()
    for _ in range(20):
        story.go_on()
        _compare(everyone)
    one = Question(salon, everyone.first, everyone.last, story.stylists[0], story.lines[0])
    _compare(one)
    call_command("visit_figures")
    call_command("visit_figures", "--check")
    assert VisitFigures.objects.count() == len(story.visits)
    _compare(everyone)
    _compare(one)
