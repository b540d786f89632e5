"""What a closed visit keeps for sums says what its records say, whatever happens afterwards."""

import datetime as dt
from random import Random

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from clients import services as desk
from clients.models import Client
from consult import services
from consult.history import (
    costs,
    kept_figures,
    kept_runs,
    kept_sums,
    overdue,
    overview,
)
from consult.history.question import Whose
from consult.models import (
    Visit,
    VisitFigures,
)
from salon.models import Salon, Staff
from tests.consult.history.test_kept_over_time import runs_of
from tests.factories.consult import opened
from tests.factories.history import ALL, Past
from tests.typed import SignIn, present


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


def test_what_comes_after_it_has_closed_is_kept_with_it(
    salon: Salon, stylist: Staff, owner: Staff, now: dt.datetime
) -> None:
    story = opened(salon, stylist=stylist, at=now - dt.timedelta(hours=2))
    visit = story.to_end()
    kept = VisitFigures.objects.get(visit=visit)
    assert not kept.is_redone
    assert not kept.is_overridden

    services.open_visit(
        appointment=visit.appointment, corrects=visit, by=stylist, at=story.later()
    )
    kept.refresh_from_db()
    assert kept.is_redone

    later = now + dt.timedelta(days=400)  # the test has expired by then
    desk.record_override(
        appointment=visit.appointment, reason="Seen by a doctor", by=owner, at=later
    )
    kept.refresh_from_db()
    assert kept.is_overridden
    call_command("visit_figures", "--check")

    VisitFigures.objects.update(is_redone=False)
    with pytest.raises(CommandError, match="1 differ"):
        call_command("visit_figures", "--check")


@pytest.mark.skipif(connection.vendor != "sqlite", reason="PostgreSQL chooses by what is there")
def test_the_sums_of_a_time_are_read_from_an_index_alone(
    salon: Salon, owner: Staff, stylist: Staff, now: dt.datetime
) -> None:
    past = Past(salon, owner, now)
    for name in ("Tidepool", "Driftwood"):
        past.line(name)
    year = Whose(salon, now - dt.timedelta(days=365), now)
    with CaptureQueriesContext(connection) as queries:
        kept_sums.kept(year)
    *_names, asked = (query["sql"] for query in queries)
    with connection.cursor() as cursor:
        cursor.execute(f"EXPLAIN QUERY PLAN {asked}".replace("%", "%%"))
        plan = " ".join(row[-1] for row in cursor.fetchall())
    searched = "salon_id=? AND line_id=? AND stylist_id=? AND opened_at>? AND opened_at<?"
    assert f"COVERING INDEX figures_summed_by_group ({searched})" in plan
    assert "TEMP B-TREE" not in plan


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


def test_what_faded_is_kept_as_the_next_visit_read_it(
    salon: Salon, owner: Staff, now: dt.datetime
) -> None:
    past = Past(salon, owner, now)
    line, client, seen = past.line("Tidepool"), past.client("Ola"), {ALL: (0.0, 0.0)}
    first = past.visit(client, line, owner, days_ago=60, seen=seen)
    kept_figures.keep([first.pk], salon=salon)
    assert VisitFigures.objects.get(visit=first).faded == []

    second = past.visit(client, line, owner, days_ago=20, seen=seen, read=7.5)
    kept_figures.keep([second.pk], salon=salon)
    kept = VisitFigures.objects.get(visit=first)
    days, pairs = present(kept.faded)
    assert days == (second.opened_at - first.opened_at).days
    assert pairs == [
        [zone, [8.0, 0.0, 0.0], [7.5, 0.0, 0.0]] for zone in ("ends", "mid_lengths")
    ]
    assert kept.is_followed
    call_command("visit_figures", "--check")

    VisitFigures.objects.update(faded=[])
    with pytest.raises(CommandError, match="1 differ"):
        call_command("visit_figures", "--check")
    call_command("visit_figures", "--again")
    VisitFigures.objects.filter(visit=second).update(is_followed=True)
    with pytest.raises(CommandError, match="1 differ"):
        call_command("visit_figures", "--check")
    call_command("visit_figures", "--again")
    call_command("visit_figures", "--check")


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

    # Who comes again is not overdue any more.
    again = Client.objects.get(pk=fresh.overdue[-1].pk)
    kept_figures.keep([past.visit(again, line, owner, days_ago=0.2).pk], salon=salon)
    assert again.pk not in {row.pk for row in told().overdue}

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
    assert runs_of(salon, now) == {
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
    assert list(runs_of(salon, now)) == [client.pk]
