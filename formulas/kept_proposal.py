"""A proposal as a row keeps it until an owner decides: plain JSON, and back again.

How much single clients' hair takes is left out: nothing that is kept is about a client.
"""

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import asdict, replace
from typing import Any

from formulas import engine, engine_inputs
from formulas.models import ProductLine
from formulas.strength_proposal import Proposal, ReaderHabit, Refined, Result


def inputs_key(*, line: ProductLine, results: Sequence[Result]) -> str:
    """Return what tells the inputs of a proposal from others: the line and every result."""
    text = f"{engine_inputs.ground_of(line).key} {list(results)!r}"
    return hashlib.sha256(text.encode()).hexdigest()


def kept(proposal: Proposal) -> dict[str, Any]:
    """Return a proposal as JSON."""
    learned = proposal.learned
    plain = asdict(replace(proposal, learned=None))
    if learned is not None:
        plain["learned"] = asdict(replace(learned, takes={}, used=frozenset()))
        plain["learned"]["used"] = sorted(learned.used)
    return plain


def read(plain: Mapping[str, Any]) -> Proposal:
    """Return a proposal as it was kept."""
    return Proposal(
        plain["results"],
        tuple(Refined(**shade) for shade in plain["shades"]),
        _learned(plain["learned"]) if plain["learned"] else None,
        tuple(ReaderHabit(one["reader"], _habit(one["habit"])) for one in plain["readers"]),
        plain["is_better"],
        plain["doubts"],
        engine.Doubts(**plain["ranges"]),
        engine.Doubts(**plain["ranges_now"]),
    )


def _learned(plain: Mapping[str, Any]) -> engine.Learned:
    return engine.Learned(
        results=plain["results"],
        clients=plain["clients"],
        strengths={name: _range(value) for name, value in plain["strengths"].items()},
        line=_range(plain["line"]),
        doubts=engine.Doubts(**plain["doubts"]),
        doubts_in_use=engine.Doubts(**plain["doubts_in_use"]),
        salon=_habit(plain["salon"]),
        readers={name: _habit(habit) for name, habit in plain["readers"].items()},
        shares={whose: (share[0], share[1]) for whose, share in plain["shares"].items()},
        before=_miss(plain["before"]),
        after=_miss(plain["after"]),
        unlearned=_miss(plain["unlearned"]),
        used=frozenset(plain["used"]),
        gains=(plain["gains"][0], plain["gains"][1]),
    )


def _habit(plain: Mapping[str, Any]) -> engine.Habit:
    return engine.Habit(
        plain["results"],
        _range(plain["level"]),
        _range(plain["warmth_percent"]),
        _range(plain["start_level"]),
    )


def _range(plain: Mapping[str, float]) -> "engine.Ranged[float]":
    return engine.Ranged(plain["value"], plain["low"], plain["high"])


def _miss(plain: Mapping[str, float] | None) -> engine.Miss | None:
    return engine.Miss(**plain) if plain else None
