"""Template tags of the visual language: marks, strands, the head, the curve, the diary grid."""

import json
import zlib
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any

from django import template
from django.core.serializers.json import DjangoJSONEncoder
from django.template.loader import render_to_string
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from salon.drawing.curve import curve_svg, levels, percent
from salon.drawing.head import ZONES, head_svg
from salon.drawing.icons import icon_svg
from salon.drawing.island import curve_island, sentence
from salon.drawing.plot import Curve, PlainCurve, read_curve
from salon.drawing.portrait import portrait_svg, strokes_svg
from salon.drawing.strand import strand_svg

register = template.Library()

ROWS_IN_AN_HOUR = 12


@register.simple_tag
def icon(name: str) -> SafeString:
    """Draw a mark; the words beside it say what it means."""
    return icon_svg(name)


@register.simple_tag
def kind_word(kind: str) -> str:
    """Say the kind of an alert in a word, so that its colour and shape are never alone."""
    return {
        "info": _("Note"),
        "good": _("OK"),
        "caution": _("Caution"),
        "stop": _("Stop"),
    }.get(kind, "")


@register.simple_block_tag
def alert(
    content: str,
    kind: str,
    *,
    title: str = "",
    href: str = "",
    action: str = "",
    live: bool = False,
) -> SafeString:
    """Draw an alert of `kind` (see `kind_word`) with the words that it encloses, if any.

    `href` and `action` are the address and the words of its link; a `live` one is read out
    when it appears. Unlike an include it sees nothing but what it is given.
    """
    body = SafeString(content.strip())  # its values were escaped where they were drawn
    given = {"kind": kind, "title": title, "body": body, "href": href, "action": action}
    return render_to_string("components/alert.html", {**given, "live": live})


@register.simple_tag
def step_word(state: str) -> str:
    """Say the state of a step on the path of a visit."""
    return {
        "done": _("done"),
        "current": _("you are here"),
        "next": _("not yet"),
        "again": _("due again"),
        "stopped": _("stopped"),
    }.get(state, "")


@register.simple_tag
def strand(colour: str, damp: bool = False, label: str = "", size: str = "m") -> SafeString:
    """Draw a colour as a lock of hair; for damp hair pass the damp colour and `damp=True`."""
    return strand_svg(str(colour), damp=bool(damp), size=size, label=str(label))


@register.simple_tag
def diary_place(starts_at: datetime, ends_at: datetime, opens_at: datetime) -> str:
    """Return the classes that place a block in `.diary`: its first row and how many rows.

    A row is five minutes; `opens_at` is the moment of the first row of the day shown.
    """
    first = int((starts_at - opens_at).total_seconds() // 300)
    rows = max(1, round((ends_at - starts_at).total_seconds() / 300))
    if first < 0:
        rows, first = max(1, rows + first), 0
    hour, row = divmod(first, ROWS_IN_AN_HOUR)
    place = f"h-{hour} r-{row + 1}" if hour else f"r-{row + 1}"
    hours, rest = divmod(rows, ROWS_IN_AN_HOUR)
    return f"{place} e-{hours} f-{rest}" if hours else f"{place} d-{rest}"


@register.simple_tag
def head(zones: Sequence[Mapping[str, str]], title: str = "") -> SafeString:
    """Draw one head from zones `{zone, hex, note}`; a zone without `hex` is not read yet."""
    labels = {"roots": _("Roots"), "mid_lengths": _("Mid-lengths"), "ends": _("Ends")}
    colours = {z["zone"]: z.get("hex") or "" for z in zones}
    notes = {z["zone"]: str(z.get("note") or "") for z in zones}
    states = {
        zone: notes.get(zone) or (_("read") if colours.get(zone) else _("not read yet"))
        for zone in ZONES
    }
    summary = title or ", ".join(f"{labels[zone]}: {states[zone]}" for zone in ZONES)
    svg = head_svg(colours, labels=labels, notes=notes, title=summary)
    return format_html('<div class="head">{}</div>', svg)


@register.simple_tag
def portrait_strokes() -> SafeString:
    """Draw what the heads of a page share, once."""
    return strokes_svg()


@register.simple_tag
def portrait(colours: Mapping[str, str], key: str, title: str) -> SafeString:
    """Draw a head as the client sees it; `colours` by zone, at least one."""
    return portrait_svg(colours, key=key, title=title)


@register.inclusion_tag("components/curve.html")
def tradeoff_curve(
    curve: PlainCurve,
    readonly: bool = False,
    *,
    names_mixes: bool = True,
    has_places: bool = True,
) -> dict[str, object]:
    """Draw the choice plot; what `curve` holds: `salon.drawing.plot`."""
    plot = read_curve(curve)
    if not names_mixes:  # a client chooses a place, not the shades that lead to it
        unnamed = tuple(replace(mix, label="", why="", cost="") for mix in plot.mixes)
        plot = replace(plot, mixes=unnamed)
    key = f"{zlib.crc32(repr(plot).encode()):08x}"
    chosen = plot.mix_at(plot.chosen if plot.chosen is not None else _middle(plot))
    shown = replace(plot, chosen=chosen.warmth) if chosen else plot
    summary = (
        sentence(chosen) if chosen else _("No mix from this stock has been calculated yet.")
    )
    places = [(place, plot.mix_at(place.warmth)) for place in plot.places]
    return {
        "curve": plot,
        "key": key,
        "readonly": readonly,
        "has_places": has_places,
        "chosen": chosen,
        "value": chosen.warmth if chosen else 100,
        "sentence": summary,
        "svg": curve_svg(shown, title=summary, key=key),
        "island": curve_island(shown),
        "rows": [
            {
                "label": place.label,
                "warmth": mix.words or percent(mix.warmth),
                "deeper": levels(mix.deeper),
            }
            for place, mix in places
            if mix
        ],
    }


def _middle(plot: Curve) -> float:
    return plot.places[len(plot.places) // 2].warmth if plot.places else 50.0


@register.filter
def as_json(value: Any) -> str:
    """Return plain data as JSON for an attribute: htmx takes no script elements along."""
    return json.dumps(value, cls=DjangoJSONEncoder, ensure_ascii=False, separators=(",", ":"))


@register.filter
def isolated(name: Any) -> str:
    """Return a name that keeps its own reading direction inside a sentence."""
    return f"\u2068{name}\u2069"
