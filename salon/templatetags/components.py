"""Template tags of the visual language: marks, alerts, strands, the diary grid."""

import json
import re
from datetime import datetime
from typing import Any, cast

from django import template
from django.core.serializers.json import DjangoJSONEncoder
from django.template import Context
from django.template.base import Node, NodeList, Parser, TextNode, Token
from django.template.loader import render_to_string
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from salon.drawing.icons import icon_svg
from salon.drawing.strand import strand_svg

register = template.Library()

ROWS_IN_AN_HOUR = 12
BREAK = re.compile(r"([<>]|\s*\n\s*)")  # of a line, or where a tag starts or ends


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


class Tight(Node):
    """What `tight` encloses, without its line breaks."""

    def __init__(self, nodelist: NodeList) -> None:
        self.nodelist = nodelist
        in_tag = False
        for text in cast("list[TextNode]", nodelist.get_nodes_by_type(TextNode)):
            pieces = BREAK.split(text.s)
            for number, piece in enumerate(pieces):
                if piece in {"<", ">"}:
                    in_tag = piece == "<"
                elif "\n" in piece:
                    pieces[number] = " " if in_tag else ""
            text.s = "".join(pieces)

    def render(self, context: Context) -> SafeString:
        """Return what it encloses."""
        return self.nodelist.render(context)


@register.tag
def tight(parser: Parser, token: Token) -> Tight:
    """Enclose pieces of a sentence that each have a line, and no space between them.

    Line breaks in its own words and tags go when the template is read; those of a value stay.
    A space that is wanted stands inside of a line; where it begins one: `{{ " " }}`.
    """
    nodelist = parser.parse(("endtight",))
    parser.delete_first_token()
    return Tight(nodelist)


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


@register.filter
def as_json(value: Any) -> str:
    """Return plain data as JSON for an attribute: htmx takes no script elements along."""
    return json.dumps(value, cls=DjangoJSONEncoder, ensure_ascii=False, separators=(",", ":"))


@register.filter
def isolated(name: Any) -> str:
    """Return a name that keeps its own reading direction inside a sentence."""
    return f"\u2068{name}\u2069"
