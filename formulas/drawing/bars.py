"""Small bars: grams on the shelf, and how far a part of a mix moved the result."""

from django.utils.html import escape

INK, TRACK = "currentColor", "currentColor"


def stock_bar(share: float, *, label: str = "") -> str:
    """Return a bar filled to `share` of its length, 0 to 1."""
    filled = 100 * min(1.0, max(0.0, share))
    role = f'role="img" aria-label="{escape(label)}"' if label else 'aria-hidden="true"'
    return (
        f'<svg class="bar" viewBox="0 0 100 8" preserveAspectRatio="none" {role}>'
        f'<rect width="100" height="8" fill="{TRACK}" fill-opacity="0.16"/>'
        f'<rect width="{filled:.1f}" height="8" fill="{INK}"/></svg>'
    )


def swing_bar(value: float, *, reach: float) -> str:
    """Return a bar from the middle: to the left for less, to the right for more."""
    half = 50 * min(1.0, abs(value) / reach) if reach else 0.0
    x = 50 - half if value < 0 else 50.0
    return (
        '<svg class="bar bar--swing" viewBox="0 0 100 12" preserveAspectRatio="none"'
        ' aria-hidden="true">'
        f'<rect width="100" height="12" fill="{TRACK}" fill-opacity="0.12"/>'
        f'<rect x="{x:.1f}" width="{half:.1f}" height="12" fill="{INK}"/>'
        f'<rect x="49.6" width="0.8" height="12" fill="{INK}"/></svg>'
    )
