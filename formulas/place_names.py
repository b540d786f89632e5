"""The named places on the trade-off, in the reader's language."""

from django.utils.translation import gettext as _


def place_label(key: str, *, has_depth: bool = False) -> str:
    """Return the name of a place; where a depth is wished it says only how cool it is."""
    if has_depth and key in ("bright", "cool"):
        return _("Warmer, some gold") if key == "bright" else _("Coolest")
    return {
        "bright": _("Bright, some gold"),
        "between": _("Balanced"),
        "cool": _("Coolest, deepest"),
        "own": _("Chosen by the client"),
    }[key]
