"""The owner's tables as rows of text, for a file."""

from collections.abc import Iterable, Iterator, Sequence

from django.utils.translation import gettext as _

from consult.history.conduct import Figure, VisitRow
from consult.history.costs import Spent
from consult.history.fade import Mean, Weeks
from consult.history.overdue import Overdue
from consult.history.overview import ClientRow, Group, Overview
from consult.history.tendencies import Tendency
from formulas.strength_proposal import Proposal

TABLES = ("lines", "stylists", "clients", "ranges", "fade")


def table(name: str, answer: Overview) -> tuple[list[str], list[list[str]]]:
    """Return header and rows of a table; numbers with a point."""
    if name == "clients":
        return _clients(answer.clients)
    if name == "ranges":
        return _ranges(answer)
    if name == "fade":
        return _fade(answer.fade)
    groups = answer.lines if name == "lines" else answer.stylists
    return _groups(_("Line") if name == "lines" else _("Stylist"), groups)


def visits_table(
    rows: Iterable[tuple[VisitRow, Spent]],
) -> tuple[list[str], Iterator[list[str]]]:
    """Return the header and rows of a list of visits, each as it is read."""
    header = [
        _("Date"), _("Client"), _("Number"), _("Service"), _("Stylist"), _("Line"),
        _("Chosen"), _("Redone"), _("Sign-off"), _("Patch test"), _("Allowed in writing by"),
        _("Reason"), _("Cost"), _("Not used, g"), _("Grams without a price"),
    ]  # fmt: skip
    return header, (_visit(row, spent) for row, spent in rows)


def _visit(row: VisitRow, spent: Spent) -> list[str]:
    return [
        row.at.date().isoformat(), row.client, str(row.person), row.service, row.stylist,
        row.line, row.place_words, *(_yes(x) for x in (
            row.is_redone, row.is_signed, row.is_tested,
        )),
        row.override_by, row.override_reason, *_cost(spent),
    ]  # fmt: skip


def _cost(spent: Spent) -> list[str]:
    if not spent.bowls:
        return ["", "", ""]
    return [
        _("no price yet") if spent.total is None else f"{spent.total:.2f}",
        f"{spent.waste_grams:.1f}" if spent.weighed else "",
        f"{spent.unpriced_total:.1f}",
    ]


def figures_table(rows: Sequence[Figure]) -> tuple[list[str], list[list[str]]]:
    """Return the header and rows of what is counted of a time's visits."""
    header = [_("Figure"), _("Visits"), _("Out of"), "%"]
    return header, [
        [row.label, str(row.count), str(row.of), f"{row.percent:.1f}"] for row in rows
    ]


def overdue_table(rows: Sequence[Overdue]) -> tuple[list[str], list[list[str]]]:
    """Return the header and rows of who is overdue."""
    header = [_("Client"), _("Number"), _("Last visit"), _("Was due"), _("Weeks overdue")]
    return header, [
        [row.name, str(row.pk), row.last.isoformat(), row.due.isoformat(), str(row.weeks)]
        for row in rows
    ]


def strengths_table(proposal: Proposal) -> tuple[list[str], list[list[str]]]:
    """Return the header and rows of what results say of a line's shades."""
    header = [
        _("Shade"), _("Results"), _("In use now"), _("Learned from results"),
        _("19 in 20: from"), _("19 in 20: to"), _("Change, %"),
    ]  # fmt: skip
    rows = [*proposal.used, *([proposal.others] if proposal.others else [])]
    return header, [
        [
            row.name if row.results else _("All other shades"), str(row.results),
            *(f"{value:.2f}" for value in (row.now, row.proposed, row.low, row.high)),
            f"{row.change_percent:.0f}",
        ]
        for row in rows
    ]  # fmt: skip


def _ranges(answer: Overview) -> tuple[list[str], list[list[str]]]:
    header = [
        _("A range that should hold, %"), _("Depth: held"), _("Depth: of"), _("Warmth: held"),
        _("Warmth: of"),
    ]  # fmt: skip
    pairs = zip(answer.depth_claims, answer.warmth_claims, strict=True)
    return header, [
        [str(x) for x in (d.percent, d.inside, d.of, w.inside, w.of)] for d, w in pairs
    ]


def _fade(rows: Sequence[Weeks]) -> tuple[list[str], list[list[str]]]:
    header = [
        _("Weeks since toning: from"), _("Weeks since toning: to"), _("Pairs"), _("Clients"),
        _("Lighter than the result, levels"), _("19 in 20: from"), _("19 in 20: to"),
        _("Warmer than the result, points"), _("19 in 20: from"), _("19 in 20: to"),
    ]  # fmt: skip
    return header, [
        [
            str(weeks.first), str(weeks.last or ""), str(len(weeks.pairs)),
            str(weeks.clients), *_meant(weeks.lighter, 2), *_meant(weeks.warmer, 1),
        ]
        for weeks in rows
    ]  # fmt: skip


def _yes(holds: bool) -> str:
    return _("yes") if holds else _("no")


def _groups(what: str, groups: Sequence[Group]) -> tuple[list[str], list[list[str]]]:
    header = [
        what, _("Visits"), _("Redone"), _("Results"), _("Clients"),
        _("Deeper than predicted, levels"), _("19 in 20: from"), _("19 in 20: to"),
        _("Warmer than predicted, points"), _("19 in 20: from"), _("19 in 20: to"),
        _("Beyond chance"), _("Colour, g"), _("Developer, g"), _("Not used, g"), _("Bowls"),
        _("Bowls weighed after use"), _("Visits with a bowl"), _("Cost of a visit"),
        _("Cost of what was not used"), _("Cost of what was discarded"),
        _("Grams without a price"),
    ]  # fmt: skip
    rows = []
    for group in groups:
        cost = group.spent.cost_of_a_visit
        known = group.depth or group.warmth
        rows.append([
            group.name, str(group.visits), str(group.redone),
            str(known.results if known else 0), str(known.clients if known else 0),
            *_ranged(group.depth, 2), *_ranged(group.warmth, 1),
            _("yes") if group.is_off else _("no"),
            f"{group.spent.grams:.1f}", f"{group.spent.developer_grams:.1f}",
            f"{group.spent.waste_grams:.1f}" if group.spent.weighed else "",
            str(group.spent.bowls), str(group.spent.weighed), str(group.spent.visits),
            *(_("no price yet") if x is None or cost is None else f"{x:.2f}" for x in (
                cost, group.spent.waste_cost, group.spent.discarded_cost,
            )), f"{group.spent.unpriced_total:.1f}",
        ])  # fmt: skip
    return header, rows


def _clients(rows: Sequence[ClientRow]) -> tuple[list[str], list[list[str]]]:
    header = [
        _("Client"), _("Number"), _("Visits"), _("Last"), _("Results"),
        _("Deeper than predicted, levels"), _("Warmer than predicted, points"), _("Run"),
        _("Likely cause"),
    ]  # fmt: skip
    return header, [
        [
            row.name, str(row.pk), str(row.visits), row.last_at.date().isoformat(),
            str(row.results),
            "" if row.deeper is None else f"{row.deeper:.2f}",
            "" if row.warmer is None else f"{row.warmer:.1f}",
            row.finding.title if row.finding else "",
            row.finding.because if row.finding else "",
        ]
        for row in rows
    ]  # fmt: skip


def _ranged(tendency: Tendency | None, places: int) -> list[str]:
    ends = None if tendency is None else (tendency.mean, tendency.low, tendency.high)
    return _plain(ends, places)


def _meant(mean: Mean | None, places: int) -> list[str]:
    ends = None if mean is None else (mean.value, mean.low, mean.high)
    return _plain(ends, places)


def _plain(numbers: tuple[float, float, float] | None, places: int) -> list[str]:
    if numbers is None:
        return ["", "", ""]
    return [f"{round(number, places) + 0.0:.{places}f}" for number in numbers]
