"""The steps of a visit: which may follow which, and which pages each opens."""

from django.utils.translation import gettext_lazy as _

from consult.models import Status

# Forward one step at a time; back to any step whose answer has to change. A visit that has
# ended has no moves. Staying (saving a step again) is always allowed while it is open.
MOVES: dict[Status, frozenset[Status]] = {
    Status.SAFETY: frozenset({Status.HAIR, Status.STOPPED}),
    Status.HAIR: frozenset({Status.SAFETY, Status.CHOICE, Status.STOPPED}),
    Status.CHOICE: frozenset({Status.SAFETY, Status.SIGN, Status.STOPPED}),
    Status.SIGN: frozenset({Status.SAFETY, Status.CHOICE, Status.FORMULA, Status.STOPPED}),
    Status.FORMULA: frozenset(
        {Status.SAFETY, Status.CHOICE, Status.SIGN, Status.BENCH, Status.STOPPED}
    ),
    Status.BENCH: frozenset(
        {
            Status.SAFETY,
            Status.CHOICE,
            Status.SIGN,
            Status.FORMULA,
            Status.RESULT,
            Status.STOPPED,
        }
    ),
    Status.RESULT: frozenset(
        {
            Status.SAFETY,
            Status.CHOICE,
            Status.SIGN,
            Status.FORMULA,
            Status.BENCH,
            Status.CLOSING,
        }
    ),
    Status.CLOSING: frozenset(
        {
            Status.SAFETY,
            Status.CHOICE,
            Status.SIGN,
            Status.FORMULA,
            Status.BENCH,
            Status.RESULT,
            Status.CLOSED,
        }
    ),
    Status.CLOSED: frozenset(),
    Status.STOPPED: frozenset(),
}

# The path on the screen: page, label, and the status from which it is open.
PATH: tuple[tuple[str, object, Status], ...] = (
    ("safety", _("Safety"), Status.SAFETY),
    ("hair", _("Hair"), Status.HAIR),
    ("choice", _("Choice"), Status.CHOICE),
    ("sign", _("Sign-off"), Status.SIGN),
    ("formula", _("Formula"), Status.FORMULA),
    ("bench", _("Bench"), Status.BENCH),
    ("result", _("Result"), Status.RESULT),
    ("card", _("Card"), Status.CLOSING),
)

ORDER: dict[str, int] = {status: place for place, status in enumerate(Status)}


def may_move(here: str, there: str) -> bool:
    """Return whether a visit may go from one step to another, or stay."""
    if not MOVES[Status(here)]:
        return False
    return here == there or Status(there) in MOVES[Status(here)]


def has_reached(status: str, step: Status) -> bool:
    """Return whether a visit with this status has come as far as `step`."""
    return ORDER[status] >= ORDER[step]


def due_page(status: str) -> str:
    """Return the page of the step that is due; the card once the visit has ended."""
    if status == Status.STOPPED:
        return "visit"
    pages = {step: page for page, _label, step in PATH}
    return pages.get(Status(status), "card")
