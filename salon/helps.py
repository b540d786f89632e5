"""What a beginner is told where they would stall; each person puts it away for themselves."""

from dataclasses import dataclass

from django.utils.translation import gettext_lazy as _


@dataclass(frozen=True)
class Help:
    """A short explanation of one page."""

    key: str
    title: object
    points: tuple[object, ...]


HELPS = {
    step_help.key: step_help
    for step_help in (
        Help("visit", _("Your first consultation"), (
            _("A visit goes along the path above: safety, hair, choice, sign-off, formula, "
              "bench, result, card. Each step opens when the one before is saved."),
            _("You can leave at any moment, on any tablet: what is saved stays, and “Go on” "
              "leads to the step that is due."),
            _("You may go back. What was signed before stays on record; a changed choice asks "
              "for a new signature."),
        )),
        Help("hair", _("Reading the hair"), (
            _("Read what you see now, dry, zone by zone: first the natural level, then the "
              "level that lightening has reached."),
            _("Compare the undertone with the drawn strands and slide towards the "
              "one that looks alike. In doubt leave it in the middle."),
            _("Where mid-lengths and ends are like the roots, tick so: one serves them."),
        )),
        Help("choice", _("Your first curve"), (
            _("To the right is cooler, downwards is deeper. Cooler always costs depth: that is "
              "physics, not the product."),
            _("Nothing can be mixed beyond the line. The strip of hair follows the mixes from "
              "your shelf that no other mix beats."),
            _("Drag the place, use the arrow keys, or press one of the three names. "
              "Strands show hair now, dry and damp. Then turn the tablet to the client."),
        )),
    )
}  # fmt: skip
