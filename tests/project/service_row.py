"""What the table of services says of one."""

from collections.abc import Callable
from typing import Any, NamedTuple

from salon.models import Role
from tests.project.service_world import World


class Row(NamedTuple):
    """Who may, and the arguments; without a record a service acts in the actor's own salon."""

    roles: frozenset[Role]
    arguments: Callable[[World], dict[str, Any]] = lambda world: {}
    has_record: bool = True


def own(roles: frozenset[Role], **arguments: Any) -> Row:
    return Row(roles, lambda world: dict(arguments), has_record=False)
