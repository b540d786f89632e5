"""A reaction that another salon saw counts here as one's own: by the name of its line."""

import datetime as dt

import pytest

from clients import services
from clients.models import AlertCode, AlertKind
from clients.skin_test.state import Code, patch_state
from formulas.models import ProductLine
from salon.models import Salon, Staff
from tests.factories.consult import cleared_client, stocked_line


@pytest.fixture
def line(salon: Salon, owner: Staff, now: dt.datetime) -> ProductLine:
    return stocked_line(salon, by=owner, at=now, name="Tidepool")


@pytest.mark.parametrize(
    ("named", "code"), [("tidepool", Code.REACTED), ("Harbour", Code.VOID)]
)
def test_a_line_of_that_name_is_blocked_and_any_other_tested_again(
    named: str, code: Code, line: ProductLine, owner: Staff, now: dt.datetime
) -> None:
    client = cleared_client(line.salon, line, by=owner, at=now)
    assert patch_state(client=client, line=line, at=now).code is Code.CLEAR

    services.raise_alert(
        client=client, kind=AlertKind.REACTION, code=AlertCode.REACTED_THERE,
        details={"salon": "Elsewhere", "code": AlertCode.PATCH_REACTION.value, "line": named},
        by=owner, at=now,
    )  # fmt: skip

    later = now + dt.timedelta(days=1)
    assert patch_state(client=client, line=line, at=later).code is code
