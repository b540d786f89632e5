"""The few marks of the product, drawn on a 24 grid: `templates/drawings/icons/`.

Each kind of state has a shape of its own (circle, check, triangle, octagon): told apart without
any colour.
"""

from functools import lru_cache

from django.utils.safestring import SafeString

from salon.drawing.markup import drawing


@lru_cache
def icon_svg(name: str) -> SafeString:
    """Return a mark as `<svg>`, hidden from screen readers: words are beside it."""
    return drawing("icon", mark=f"drawings/icons/{name}.svg")
