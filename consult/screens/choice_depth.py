"""The second control of the choice: whether a depth is wished, and which are offered."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation

from consult.agreement import wished_depth
from consult.models import Choice, ZoneReading
from consult.models.hair import HALF_LEVELS


@dataclass(frozen=True)
class DepthWish:
    """Whether the control is open, and the level that is wished, if any."""

    is_open: bool
    level: Decimal | None

    @property
    def initial(self) -> dict[str, object]:
        """What the choice's form starts from."""
        level = "" if self.level is None else text_of(self.level)
        return {"deeper": self.is_open, "wanted_level": level}

    def levels(self, looks: Iterable[float]) -> list[Decimal]:
        """Return the levels offered to hair whose parts look like `looks`, lightest first."""
        offered = set(wished_depth.levels_below(max(looks)))
        if self.level is not None:
            offered.add(Decimal(text_of(self.level)))
        return sorted(offered, reverse=True)


def wish_of(
    fields: Mapping[str, object], current: Choice | None, readings: Mapping[str, ZoneReading]
) -> DepthWish:
    """Return what is wished: as typed or kept, else as chosen; much white hair opens it."""
    if "head" in fields or "wanted_level" in fields:
        is_open = bool(fields.get("deeper"))
        return DepthWish(is_open, _level(fields.get("wanted_level")) if is_open else None)
    level = current.wanted_level if current else None
    white = [row.white_percent for row in readings.values() if row.is_toned]
    return DepthWish(level is not None or wished_depth.is_likely(white), level)


def text_of(level: Decimal) -> str:
    """Return a level as forms send it: "6" or "6.5"."""
    return f"{level.normalize():f}"


def _level(typed: object) -> Decimal | None:
    """Return a typed level, or None for one that nobody could have picked."""
    try:
        level = Decimal(str(typed or ""))
    except InvalidOperation:
        return None
    return level if level in HALF_LEVELS else None
