"""Invented clients in bulk, for measuring: the same seed gives the same people."""

import datetime as dt
import random
from collections.abc import Iterator

from clients.models import Client
from clients.models.client import searchable
from salon.models import Salon

_STARTS = "Al An Bel Bri Ca Da El Fe Ga Ha Il Jo Ka La Ma Ni Or Pa Ro Sa Ta Ul Va Wi Ya Zo"
_MIDDLES = "ba be da do fi ga ki la le li lo ma mi na ne ni no ra re ri ro sa se ta te ti va vi"
_ENDS = (
    "n na ne ra ri s ta th la lle lyn mar nor ria rin sa ssa t ton via wen x ya zé ñez øe ück"
)


def people(*, salon: Salon, count: int, seed: int, at: dt.datetime) -> Iterator[Client]:
    """Yield unsaved clients with names of many lengths, phones, addresses, birth dates."""
    chance = random.Random(seed)  # noqa: S311  no secret
    starts, middles, ends = _STARTS.split(), _MIDDLES.split(), _ENDS.split()

    def word(least: int, most: int) -> str:
        between = "".join(chance.choices(middles, k=chance.randint(least, most)))
        return chance.choice(starts) + between + chance.choice(ends)

    def one_of(names: list[str]) -> str:
        """Return a name; the first ones are common, the last ones rare."""
        return names[int(len(names) * chance.random() ** 3)]

    syllables = [word(0, 1) for _ in range(2500)]
    family = [word(1, 3) for _ in range(40_000)]
    for number in range(count):
        name = f"{one_of(syllables)} {one_of(family)}"
        if chance.random() < 0.15:
            name += f"-{one_of(family)}"
        # 0117 496 0000-0999 is kept free for drama; what goes beyond it is only for measuring.
        phone = f"+44117{chance.randint(4_960_000, 4_969_999)}"
        yield Client(
            salon=salon,
            name=name,
            phone=phone,
            email=f"person{number}@example.com",
            birth_date=dt.date(1940, 1, 1) + dt.timedelta(days=chance.randint(0, 24000)),
            registered_at=at,
            search_name=searchable(name)[:200],
            last_booked_at=at - dt.timedelta(days=chance.randint(0, 400))
            if chance.random() < 0.1
            else None,
        )
