"""Help for a beginner where they would stall; each person puts it away for themselves."""

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
            _("A visit follows the steps above: safety, hair, choice, sign-off, "
              "formula, bench, result, card. Each step opens when the one before is "
              "saved."),
            _("You can leave at any time, on any tablet: what is saved stays, and "
              "“Continue” takes you to the next step."),
            _("You can go back. What was signed before stays on record; a changed "
              "choice asks for a new signature."),
        )),
        Help("hair", _("Reading the hair"), (
            _("Read what you see now, dry, zone by zone: first the natural level, then the "
              "level that lightening has reached."),
            _("Compare the undertone with the strands on screen and slide to the one "
              "that looks the same. If in doubt, leave it in the middle."),
            _("If mid-lengths or ends are like the roots, tick that: one reading is "
              "enough."),
        )),
        Help("choice", _("Your first curve"), (
            _("To the right is cooler, down is deeper. Cooler always costs depth: that "
              "is physics, not the product."),
            _("Nothing can be mixed beyond the line. The strip of hair shows the best "
              "mixes from your stock."),
            _("Drag the point, use the arrow keys, or press one of the three names. "
              "The strands show the hair now, dry and damp. Then turn the tablet to "
              "the client."),
        )),
    )
}  # fmt: skip
