"""The owner's tables as rows of text, for a file."""

from collections.abc import Sequence

from django.utils.translation import gettext as _

from consult.history.overview import ClientRow, Group, Overview
from consult.history.tendencies import Tendency

TABLES = ("lines", "stylists", "clients")


def table(name: str, answer: Overview) -> tuple[list[str], list[list[str]]]:
    """Return header and rows of a table; numbers with a point."""
    if name == "clients":
        return _clients(answer.clients)
    groups = answer.lines if name == "lines" else answer.stylists
    return _groups(_("Line") if name == "lines" else _("Stylist"), groups)


def _groups(what: str, groups: Sequence[Group]) -> tuple[list[str], list[list[str]]]:
    header = [
        what, _("Visits"), _("Redone"), _("Results"), _("Clients"),
        _("Deeper than predicted, levels"), _("19 in 20: from"), _("19 in 20: to"),
        _("Warmer than predicted, points"), _("19 in 20: from"), _("19 in 20: to"),
        _("Beyond chance"), _("Colour, g"), _("Developer, g"), _("Cost of a visit"),
        _("Grams without a price"),
    ]  # fmt: skip
    rows = []
    for group in groups:
        cost = group.spent.cost_of_a_visit
        unpriced = group.spent.unpriced_grams + group.spent.unpriced_developer_grams
        known = group.depth or group.warmth
        rows.append([
            group.name, str(group.visits), str(group.redone),
            str(known.results if known else 0), str(known.clients if known else 0),
            *_ranged(group.depth, 2), *_ranged(group.warmth, 1),
            _("yes") if group.is_off else _("no"),
            f"{group.spent.grams:.1f}", f"{group.spent.developer_grams:.1f}",
            _("no price yet") if cost is None else f"{cost:.2f}", f"{unpriced:.1f}",
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
    if tendency is None:
        return ["", "", ""]
    numbers = (tendency.mean, tendency.low, tendency.high)
    return [f"{round(number, places) + 0.0:.{places}f}" for number in numbers]
