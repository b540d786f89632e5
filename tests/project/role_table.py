"""Which roles each route opens to. A new route needs its row here, on purpose."""

from salon.access import BENCH, DESK, OWNER

OPEN = {"salon:sign_in", "salon:sign_out"}

TABLE = {
    "salon:home": DESK,
    "salon:looks": OWNER,
    "salon:house": OWNER,
    "salon:add_member": OWNER,
    "salon:change_member": OWNER,
    "salon:policy": OWNER,
    "salon:record_of_changes": OWNER,
}

__all__ = ["BENCH", "OPEN", "TABLE"]
