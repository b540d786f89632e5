"""What the demo's results show beyond chance."""

from consult.demo.cast import REGULARS
from consult.demo.habits import AS_PREDICTED, off_of


def test_a_stylist_a_line_and_a_client_are_off_and_nobody_else() -> None:
    by_tomasz = {guest.name: off_of(guest, stylist="tomasz", number=6) for guest in REGULARS}
    by_oluchi = {guest.name: off_of(guest, stylist="oluchi", number=0) for guest in REGULARS}

    deeper = [name for name, off in by_tomasz.items() if off.levels < 0]
    warmer = {name for name, off in by_tomasz.items() if off.warmth_percent > 0}
    assert len(deeper) == 1
    assert warmer == {guest.name for guest in REGULARS if guest.line == 1}
    assert all(off.levels < 0 for off in by_oluchi.values())
    others = {name: off for name, off in by_tomasz.items() if name not in {*deeper, *warmer}}
    assert set(others.values()) == {AS_PREDICTED}


def test_it_builds_up_with_each_visit() -> None:
    levels = [
        min(off_of(guest, stylist="tomasz", number=number).levels for guest in REGULARS)
        for number in range(5)
    ]

    assert levels == sorted(levels, reverse=True)
    assert levels[0] == 0
