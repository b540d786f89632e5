"""Small bars: grams on the shelf, and how far a part of a mix moved the result."""

from django.utils.safestring import SafeString

from salon.drawing.markup import drawing


def stock_bar(share: float, *, label: str = "") -> SafeString:
    """Return a bar filled to `share` of its length, 0 to 1."""
    filled = 100 * min(1.0, max(0.0, share))
    return drawing("stock_bar", filled=f"{filled:.1f}", label=label)


def swing_bar(value: float, *, reach: float) -> SafeString:
    """Return a bar from the middle: to the left for less, to the right for more."""
    half = 50 * min(1.0, abs(value) / reach) if reach else 0.0
    x = 50 - half if value < 0 else 50.0
    return drawing("swing_bar", x=f"{x:.1f}", width=f"{half:.1f}")
