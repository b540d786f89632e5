"""A new form is fuzzed as well: what its constructor needs must be known."""

from tests.fuzz.registry import every_form, needs_a_row


def test_every_form_can_be_built_for_the_fuzz_test() -> None:
    """Add a row to NEEDS in tests/fuzz/registry.py for a form that is named here."""
    forms = every_form()

    assert len(forms) > 50
    assert [name for name, form in forms.items() if needs_a_row(form)] == []
