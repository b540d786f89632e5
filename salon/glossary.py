"""The words of the trade, each in one plain sentence or two; terms only that the field uses."""

from dataclasses import dataclass

from django.utils.translation import gettext_lazy as _


@dataclass(frozen=True)
class Term:
    """A term and what it means here."""

    key: str
    term: object
    meaning: object


TERMS = (
    Term("level", _("level"), _(
        "How light hair is, from 1 (black) to 10 (palest blond). An eye can tell "
        "about half a level.")),
    Term("lifted", _("lifted level"), _(
        "The level that lightened hair has reached before any toner goes on.")),
    Term("undertone", _("undertone"), _(
        "The warmth that lightening shows: orange around level 6, yellow-orange at 7 to 8, "
        "pale yellow at 10.")),
    Term("warmth", _("warmth left"), _(
        "How much of that warmth a mix leaves, in per cent. At 0 the hair looks as neutral as "
        "natural hair of the same depth.")),
    Term("depth", _("depth"), _(
        "How dark hair looks. Taking warmth out always makes it look deeper.")),
    Term("toner", _("toner"), _(
        "A demi-permanent colour that adds the opposite tone to the warmth. It "
        "does not lighten.")),
    Term("developer", _("developer"), _(
        "The peroxide that a toner is mixed with. Its strength and ratio are in "
        "the manufacturer's instructions.")),
    Term("parts", _("parts"), _(
        "The proportions of a mix: two parts of one shade to one of another give "
        "the same colour in any bowl.")),
    Term("strand-test", _("strand test"), _(
        "The mix, tried on one hidden strand first. It decides when screens and "
        "predictions are in doubt.")),
    Term("patch-test", _("patch test"), _(
        "A little of the product on the skin, read after the time set in the "
        "salon's rules, to find an allergy before colour does. Send a reaction "
        "to a doctor or pharmacist.")),
    Term("regrowth", _("regrowth"), _(
        "The hair that has grown since the last colour, at the roots.")),
    Term("porosity", _("porosity"), _(
        "How easily hair takes up colour. Porous hair takes more and loses it "
        "sooner.")),
    Term("line", _("the line no mix can cross"), _(
        "For each warmth, the lightest look that any colour could give this "
        "hair. Nothing beyond it can be mixed, whatever the product.")),
    Term("frontier", _("frontier"), _(
        "The best that the shades in stock can do: no other mix of them is both "
        "cooler and lighter.")),
)  # fmt: skip

BY_KEY = {term.key: term for term in TERMS}

# What each page of a consultation brings up for the first time.
ON_PAGE = {
    "visit": ("patch-test", "strand-test"),
    "safety": ("patch-test",),
    "hair": ("level", "lifted", "undertone", "porosity", "regrowth"),
    "choice": ("warmth", "depth", "line", "frontier"),
    "sign": ("toner", "warmth", "depth"),
    "formula": ("toner", "parts", "developer"),
    "bench": ("parts", "developer"),
    "result": ("level", "warmth"),
}
