"""A new form is fuzzed as well: what its constructor needs must be known."""

import datetime as dt

import pytest

from salon.models import Staff
from tests.factories.consult import opened
from tests.fuzz.registry import build, every_form


@pytest.mark.django_db
def test_every_form_can_be_built_for_the_fuzz_test(stylist: Staff) -> None:
    """Give a form that is named here its row in NEEDS of tests/fuzz/registry.py."""
    at = dt.datetime(2026, 3, 11, 8, tzinfo=dt.UTC)
    story = opened(stylist.salon, stylist=stylist, at=at).to_bench()
    forms = every_form()
    assert len(forms) > 50

    unknown = {}
    for name, form in forms.items():
        try:
            build(form, {}, {}, story)
        except Exception as fault:
            unknown[name] = repr(fault)

    assert unknown == {}
