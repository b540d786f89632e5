"""Tests on the hair and steps before the toner, through the real services."""

from decimal import Decimal
from typing import Any

from consult import services
from consult.models import PreTest, VisitStep
from tests.factories.consult import Story


def hair_tested(story: Story, kind: str, result: str, **more: Any) -> PreTest:
    """Record what a test showed."""
    return services.record_pre_test(
        visit=story.visit, kind=kind, result=result, by=story.by, at=story.later(), **more
    )


def lightened(story: Story, **changes: Any) -> VisitStep:
    """Record a lightening, or another step."""
    told: dict[str, Any] = {
        "kind": "lightening",
        "product": "Blue powder",
        "zones": "roots,mid_lengths,ends",
        "developer_percent": Decimal(6),
        "developer_ratio": Decimal(2),
        "minutes": 35,
        "level_reached": Decimal("8.5"),
        **changes,
    }
    return services.record_step(visit=story.visit, by=story.by, at=story.later(40), **told)
