"""Template tags that draw heads: by zones, and as the client sees one."""

from collections.abc import Mapping, Sequence

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from consult.drawing.head import ZONES, head_svg
from consult.drawing.portrait import portrait_svg, strokes_svg

register = template.Library()


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
