"""What needs a person today, the most off first, with where to look."""

import datetime as dt
from collections import defaultdict
from dataclasses import dataclass

from django.urls import reverse
from django.utils.formats import number_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from clients.models import Client
from consult.history import background, histories, looks
from consult.history.background import Background
from consult.history.causes import Cause
from consult.history.error_words import in_words
from consult.history.findings import Finding
from consult.history.range_claims import claims_of
from consult.history.tendencies import Tendency
from formulas import selectors as formulary
from formulas.shelf_summary import Held
from salon.models import Salon

MOST_NEEDS = 12

# Fewer results say nothing of how wide ranges should be.
FEWEST_FOR_RANGES = 20


@dataclass(frozen=True)
class Need:
    """One thing that needs a person, with where to look."""

    title: str
    body: str
    href: str
    action: str


def needs_now(
    *, salon: Salon, known: Background, runs: dict[int, list[Finding]], at: dt.datetime
) -> tuple[list[Need], int]:
    """Return what needs a person today, the most off first, and how many more there are."""
    found = [*_of_groups(known), *_of_clients(runs), *_of_ranges(salon, known, at)]
    found += [*_of_shelf(salon), *_of_open_visits(salon, at)]
    return found[:MOST_NEEDS], max(0, len(found) - MOST_NEEDS)


def _of_groups(known: Background) -> list[Need]:
    """Return lines, stylists, or the whole salon, whose results are off."""
    found: list[tuple[float, Need]] = []
    address = reverse("consult:histories")
    for number in ("depth", "warmth"):
        tendencies = known.of(number)
        groups = [
            (known.lines.get(pk, ""), "line", pk, t) for pk, t in tendencies.lines.items()
        ]
        groups += [
            (known.staff.get(pk, ""), "stylist", pk, t) for pk, t in tendencies.stylists.items()
        ]
        named = [row for row in groups if row[3].is_off]
        everyone = tendencies.everyone
        if everyone and everyone.is_off and not named:
            named = [(_("All results"), "everyone", 0, everyone)]
        for name, kind, pk, tendency in named:
            title = _("%(name)s: %(off)s than predicted") % {
                "name": name, "off": in_words(tendency.mean, number),
            }  # fmt: skip
            href = {
                "line": reverse("consult:learning", args=[pk]) if pk else "",
                "stylist": f"{address}?stylist={pk}",
                "everyone": f"{address}#groups",
            }[kind]
            action = _("Compare with our results") if kind == "line" else _("Show the results")
            body = _of_whom(kind) % _values(tendency, number)
            found.append((abs(tendency.mean) / tendency.doubt, Need(title, body, href, action)))
    return [need for _weight, need in sorted(found, key=lambda pair: -pair[0])]


def _of_whom(kind: str) -> str:
    if kind == "line":
        return _(
            "On average over %(n)s results of %(clients)s clients, no matter who did it "
            "(19 in 20: %(low)s to %(high)s). Likely the line: a batch, a shade, its strength."
        )
    if kind == "stylist":
        return _(
            "On average over %(n)s results of %(clients)s clients, whatever the line "
            "(19 in 20: %(low)s to %(high)s). Likely how hair is read, mixed or timed: look at "
            "a few heads together."
        )
    return _(
        "On average over %(n)s results of %(clients)s clients, with every line and stylist "
        "(19 in 20: %(low)s to %(high)s). Look at the light where results are seen, and "
        "compare the lines with your results."
    )


def _values(tendency: Tendency, number: str) -> dict[str, object]:
    places = 1 if number == "depth" else 0
    return {
        "n": tendency.results,
        "clients": tendency.clients,
        "low": signed(tendency.low, places),
        "high": signed(tendency.high, places),
    }


def signed(value: float, places: int) -> str:
    """Return a number with its sign, in the reader's own digits."""
    rounded = round(value, places) + 0.0
    text = number_format(abs(rounded), places)
    return f"+{text}" if rounded > 0 else f"−{text}" if rounded < 0 else text


def _of_clients(runs: dict[int, list[Finding]]) -> list[Need]:
    """Return the clients with a run that neither their line nor their stylist explains."""
    names = dict(Client.objects.filter(pk__in=runs).values_list("pk", "name"))
    own = [
        (pk, finding)
        for pk, found in runs.items()
        for finding in found[:1]
        if finding.cause not in (Cause.LINE, Cause.STYLIST)
    ]
    return [
        Need(
            _("%(name)s. %(what)s")
            % {"name": f"\u2068{names[pk]}\u2069", "what": finding.title},
            f"{finding.amount} {finding.because}",
            reverse("consult:tones", args=[pk]),
            _("Show the colour visits"),
        )
        for pk, finding in sorted(own, key=lambda pair: -pair[1].weight)
    ]


def _of_ranges(salon: Salon, known: Background, at: dt.datetime) -> list[Need]:
    """Say where ranges that claim 19 in 20 hold far fewer."""
    rows = looks.once_each(
        looks.of_salon(
            salon=salon,
            since=at - dt.timedelta(days=background.DAYS),
            most=background.MOST_VISITS,
        )
    )
    if len(rows) < FEWEST_FOR_RANGES:
        return []
    found = []
    for number, claims in (
        (_("Depth"), claims_of(x.distance("depth") for x in rows)),
        (_("Warmth"), claims_of(x.distance("warmth") for x in rows)),
    ):
        claim = claims[-1]
        share = claim.percent / 100
        slack = 3 * (share * (1 - share) / claim.of) ** 0.5
        if claim.inside / claim.of < share - slack:
            title = _("%(number)s: ranges are too narrow") % {"number": number}
            body = _(
                "%(n)s of %(of)s results were inside ranges that should be right 19 times in "
                "20. Compare "
                "the lines with your results: ranges widen with them."
            ) % {"n": claim.inside, "of": claim.of}
            href = reverse("consult:histories") + "#ranges"
            found.append(Need(title, body, href, _("Show the ranges")))
    return found


def _of_shelf(salon: Salon) -> list[Need]:
    shades = formulary.shelf(salon=salon)
    held = [Held(shade, shade.grams) for shade in shades]  # type: ignore[attr-defined]
    by_state: dict[str, list[Held]] = defaultdict(list)
    for shelf in held:
        by_state[shelf.state].append(shelf)
    found = []
    if by_state["count"]:
        n = len(by_state["count"])
        title = ngettext("Count %(n)s shade", "Count %(n)s shades", n) % {"n": n}
        body = _(
            "More was poured than was entered as received: %(names)s. A delivery is missing."
        ) % {"names": ", ".join(str(shelf.shade) for shelf in by_state["count"][:6])}
        found.append(Need(title, body, reverse("formulas:stock"), _("Go to the stock")))
    low = by_state["low"] + (by_state["out"] if len(by_state["out"]) < len(held) else [])
    if low:
        n = len(low)
        title = ngettext("%(n)s shade to order", "%(n)s shades to order", n) % {"n": n}
        body = ", ".join(f"{shelf.shade} ({shelf.state_label})" for shelf in low[:8])
        found.append(Need(title, body, reverse("formulas:stock"), _("Go to the stock")))
    return found


def _of_open_visits(salon: Salon, at: dt.datetime) -> list[Need]:
    day = at.astimezone(salon.zone).date()
    start = dt.datetime.combine(day, dt.time(), tzinfo=salon.zone)
    n = histories.unfinished(salon=salon, before=start).count()
    if not n:
        return []
    title = ngettext(
        "%(n)s visit of an earlier day is open", "%(n)s visits of earlier days are open", n
    ) % {"n": n}
    body = _("Without its result nothing can be learned from it. Close it or end it.")
    return [Need(title, body, reverse("consult:today"), _("Go to the visits"))]
