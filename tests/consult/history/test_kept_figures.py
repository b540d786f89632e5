"""What a closed visit keeps for sums says what its records say, whatever happens afterwards."""

import datetime as dt
from collections.abc import Callable
from dataclasses import astuple
from decimal import Decimal
from random import Random

import pytest
from django.core.management import CommandError, call_command
from django.db import transaction
from django.urls import reverse

from clients import services as desk
from clients.models import (
    AlertCode,
    AlertKind,
    Client,
    ClientMerge,
    ErasureReason,
    RestrictionReason,
)
from clients.services import privacy
from consult.history import (
    conduct,
    control,
    costs,
    kept_figures,
    kept_runs,
    looks,
    overdue,
    overview,
)
from consult.history.question import Question, visits_in_question
from consult.models import Reaction, ReactionKind, Visit, VisitFigures
from salon.models import Role, Salon, Staff
from tests.factories.consult import opened
from tests.factories.history import ALL, Past
from tests.factories.salon import StaffFactory
from tests.typed import SignIn


class _Back(Exception):
    """Takes back what was tried."""


Runs = dict[int, list[tuple[str, str, control.Run]]]
Told = tuple[conduct.Counts, costs.Costs, list[looks.Look], Runs]


def _told(question: Question) -> Told:
    visits, salon = visits_in_question(question), question.salon
    return (
        conduct.counts_of(visits, salon=salon),
        costs.by_group(visits, salon=salon, since=question.since, until=question.until),
        looks.of_visits(visits),
        _runs(salon, question.until),
    )


def _runs(salon: Salon, at: dt.datetime) -> Runs:
    """Return what the owner's page names, however many visits its salon has."""
    _known, runs = overview.runs_now(salon=salon, at=at)
    return {pk: [(one.zones, one.number, one.run) for one in own] for pk, own in runs.items()}


def _from_records(question: Question) -> Told:
    """Return the same with nothing kept; costs added up visit by visit."""
    try:
        with transaction.atomic():
            VisitFigures.objects.all().delete()
            counts, _spent, seen, runs = _told(question)
            raise _Back
    except _Back:
        spent = costs.costs_of(
            visits_in_question(question), salon=question.salon,
            since=question.since, until=question.until,
        )  # fmt: skip
        return counts, spent, seen, runs


def _compare(question: Question) -> None:
    counts, spent, seen, runs = _told(question)
    fresh_counts, fresh_spent, fresh_seen, fresh_runs = _from_records(question)
    assert +counts.of == +fresh_counts.of
    assert (counts.coloured, counts.chosen) == (fresh_counts.coloured, fresh_counts.chosen)
    assert seen == fresh_seen
    assert runs == fresh_runs
    assert spent.by_group.keys() == fresh_spent.by_group.keys()
    for key, own in spent.by_group.items():
        for value, fresh in zip(astuple(own), astuple(fresh_spent.by_group[key]), strict=True):
            assert abs(value - fresh) < Decimal("0.01"), key


@pytest.mark.parametrize("seed", range(3))
def test_whatever_happens_sums_are_those_of_the_records(
    salon: Salon, owner: Staff, now: dt.datetime, seed: int
) -> None:
    dice, past = Random(seed), Past(salon, owner, now)  # noqa: S311  a story, no secret
    stylists = [StaffFactory(salon=salon, role=Role.STYLIST) for _ in range(2)]
    lines = [past.line("Tidepool"), past.line("Harbour")]
    people = [past.client(f"Client {n}") for n in range(4)]
    everyone = Question(salon, (now - dt.timedelta(days=200)).date(), now.date())
    visits: list[Visit] = []

    def visit(corrects: Visit | None = None) -> None:
        client = corrects.client if corrects else dice.choice(people)
        seen = dice.choice(
            [None, {"roots": (0.2, -3.0), "mid_lengths,ends": (0.4, 5.0)}, {ALL: (1.6, 40.0)}]
        )
        new = past.visit(
            client, dice.choice(lines), dice.choice(stylists), days_ago=dice.randrange(1, 150),
            seen=seen, corrects=corrects,
        )  # fmt: skip
        visits.append(new)
        if dice.random() < 0.7:  # the others are as an earlier release left them
            kept_figures.keep([new.pk], salon=salon)

    def react() -> None:
        seen = dice.choice(visits)
        if not seen.reactions.exists() and not Client.objects.get(pk=seen.client_id).shut:
            alert = desk.raise_alert(
                client=seen.client, kind=AlertKind.REACTION, code=AlertCode.COLOUR_REACTION,
                details={"line": seen.line.name}, by=owner, at=now,
            )  # fmt: skip
            Reaction.objects.create(
                visit=seen, kind=ReactionKind.PRESSED, alert=alert, recorded_at=now,
                recorded_by=owner,
            )  # fmt: skip

    def merge() -> None:
        first, second = dice.sample(people, 2)
        rows = Client.objects.in_bulk([first.pk, second.pk])
        if not any(row.merged_into_id or row.shut for row in rows.values()):
            desk.merge_clients(
                kept=rows[first.pk], merged=rows[second.pk], by=owner, at=now,
                is_same_body=True,
            )  # fmt: skip

    def undo() -> None:
        last = ClientMerge.objects.filter(undone_at__isnull=True).first()
        if last and not last.kept.shut:
            desk.undo_merge(merge=last, by=owner, at=now)

    def shut() -> None:
        client = Client.objects.get(pk=dice.choice(people).pk)
        if not client.merged_into_id and not client.shut:
            desk.restrict_client(
                client=client, reason=RestrictionReason.CLAIMS, by=owner, at=now
            )

    def erase() -> None:
        client = Client.objects.get(pk=people[-1].pk)
        if not client.merged_into_id and not client.shut:
            privacy.erase(
                client=client, reason=ErasureReason.IN_PERSON, at=now, recorded_by=owner
            )

    def correct() -> None:
        visit(dice.choice(visits))

    acts: list[Callable[[], None]] = [visit, visit, correct, react, merge, undo, shut, erase]
    for _ in range(3):
        visit()
    for _ in range(14):
        dice.choice(acts)()
        _compare(everyone)
    one = Question(salon, everyone.first, everyone.last, stylists[0], lines[0])
    _compare(one)
    call_command("visit_figures")
    call_command("visit_figures", "--check")
    assert VisitFigures.objects.count() == len(visits)
    _compare(everyone)
    _compare(one)


def test_closing_keeps_them_and_a_wrong_one_is_named(
    salon: Salon, stylist: Staff, now: dt.datetime
) -> None:
    visit = opened(salon, stylist=stylist, at=now - dt.timedelta(hours=2)).to_end()
    kept = VisitFigures.objects.get(visit=visit)
    assert kept.bowls == visit.bowls.count()
    assert kept.is_signed
    assert kept.is_tested
    assert kept.grams == costs.of_one(visit).grams > 0
    call_command("visit_figures", "--check")

    VisitFigures.objects.update(grams=kept.grams + 1)
    with pytest.raises(CommandError, match="1 differ"):
        call_command("visit_figures", "--check")
    call_command("visit_figures", "--again")
    call_command("visit_figures", "--check")


def test_the_page_says_so_where_it_compares_a_part(
    salon: Salon,
    owner: Staff,
    now: dt.datetime,
    client_for: SignIn,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    past = Past(salon, owner, now)
    for back, name in ((9, "Ola"), (5, "Bea"), (3, "Ida")):
        past.visit(past.client(name), past.line("Tidepool"), owner, days_ago=back)
    page = client_for(owner).get(reverse("consult:histories")).text
    assert "come from the latest" not in page
    monkeypatch.setattr(overview, "MOST_COMPARED", 2)
    page = client_for(owner).get(reverse("consult:histories")).text
    assert "3 visits, 0 of them redone, 2 results" in page
    assert "come from the latest 2 visits" in page


@pytest.mark.parametrize("seed", range(2))
def test_rhythm_and_who_is_overdue_are_those_of_the_visits(
    salon: Salon, owner: Staff, now: dt.datetime, seed: int
) -> None:
    dice, past = Random(seed), Past(salon, owner, now)  # noqa: S311  a story, no secret
    line = past.line("Tidepool")
    for n in range(6):
        client, every = past.client(f"Client {n}"), dice.randrange(20, 60)
        gone = dice.randrange(1, 120)
        for back in range(dice.randrange(1, 6), -1, -1):
            visit = past.visit(client, line, owner, days_ago=gone + back * every)
        if n % 3 == 0:
            past.visit(client, line, owner, days_ago=gone - 0.5, corrects=visit)
        if n % 3 == 1:
            agreed = (now - dt.timedelta(days=dice.randrange(-9, 9))).date()
            Visit.objects.filter(pk=visit.pk).update(next_visit_date=agreed)

    def told() -> overdue.Rhythm:
        first = (now - dt.timedelta(days=90)).date()
        return overdue.rhythm(salon=salon, first=first, last=now.date(), at=now)

    fresh = told()
    assert fresh.overdue
    assert fresh.intervals

    call_command("visit_figures")
    assert told() == fresh
    first = (now - dt.timedelta(days=90)).date()
    part = overdue.rhythm(salon=salon, first=first, last=now.date(), at=now, most=2)
    assert part.overdue == fresh.overdue[:2]
    assert part.late == len(fresh.overdue)

    # An entry of somebody who came again under another one is not overdue any more.
    late = Client.objects.get(pk=fresh.overdue[0].pk)
    again = past.client("The same")
    kept_figures.keep([past.visit(again, line, owner, days_ago=0.1).pk], salon=salon)
    assert late.pk in {row.pk for row in told().overdue}
    desk.merge_clients(kept=late, merged=again, by=owner, at=now, is_same_body=True)
    assert late.pk not in {row.pk for row in told().overdue}


def test_only_whose_results_may_end_in_a_run_are_read(
    salon: Salon, owner: Staff, now: dt.datetime
) -> None:
    past = Past(salon, owner, now)
    line, off, plain = past.line("Tidepool"), past.client("Ola"), past.client("Bea")
    for back in range(7, 0, -1):
        for client, seen in ((off, (1.4, 0.0)), (plain, past.as_usual())):
            visit = past.visit(client, line, owner, days_ago=9 * back, seen={ALL: seen})
            kept_figures.keep([visit.pk], salon=salon)
    known, runs = overview.runs_now(salon=salon, at=now)
    assert list(runs) == [off.pk]
    assert runs[off.pk][0].run.count == 7

    def looked_at() -> set[int]:
        since = now - dt.timedelta(days=overview.RECENT_DAYS)
        return kept_runs.people_to_look_at(salon=salon, since=since, scatter=known.scatter)

    assert looked_at() == {off.pk}
    # Somebody whose entries were joined is looked at, whatever each had kept.
    again = past.client("Bea again")
    desk.merge_clients(kept=plain, merged=again, by=owner, at=now, is_same_body=True)
    assert looked_at() == {off.pk, plain.pk}
    # One that an earlier release left without: also.
    VisitFigures.objects.filter(visit__client=off).update(depth_run_below=None)
    assert off.pk in looked_at()
    call_command("visit_figures")
    call_command("visit_figures", "--check")
    assert _runs(salon, now) == {
        off.pk: [(one.zones, one.number, one.run) for one in runs[off.pk]]
    }


def test_a_visit_closed_after_a_later_one_counts_for_it(
    salon: Salon, owner: Staff, now: dt.datetime
) -> None:
    past = Past(salon, owner, now)
    line, client = past.line("Tidepool"), past.client("Ola")
    visits = [
        past.visit(client, line, owner, days_ago=9 * back, seen={ALL: (1.4, 0.0)})
        for back in range(7, 0, -1)
    ]
    for visit in reversed(visits):
        kept_figures.keep([visit.pk], salon=salon)
    call_command("visit_figures", "--check")
    assert list(_runs(salon, now)) == [client.pk]
