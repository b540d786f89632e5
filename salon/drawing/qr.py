"""QR codes (ISO/IEC 18004), drawn as `<svg>`."""

import segno
from django.utils.safestring import SafeString, mark_safe


def qr_svg(text: str, *, title: str, scale: int = 3) -> SafeString:
    """Return a text as a QR code, dark on light whatever the page's colours are."""
    drawn = segno.make(text, error="m", micro=False)
    svg = drawn.svg_inline(scale=scale, border=4, title=title, light="#fff")
    return mark_safe(svg)  # noqa: S308 - drawn from modules, the title is ours
