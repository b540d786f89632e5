"""A group of zones is one value: equal where its zones are, however it was put together."""

import json

from consult.zones import GROUPS, Group


def test_a_group_is_the_same_value_in_whatever_order_its_zones_come() -> None:
    group = Group.of(["ends", "roots"])

    assert group == Group.over(["ends", "roots,ends"]) == "roots,ends"
    assert group.members == ("roots", "ends")
    assert (group.first, group.last) == ("roots", "ends")
    assert json.loads(json.dumps({group: 1})) == {"roots,ends": 1}
    assert len(GROUPS) == len(set(GROUPS)) == 7


def test_no_zones_are_an_empty_group() -> None:
    assert Group("").members == ()
    assert not Group.of([])
