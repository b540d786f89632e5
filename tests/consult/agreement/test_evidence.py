# ruff: noqa: S608  the tables' own names
"""What an owner's look at everything finds: the chain, the anchors, the guards."""

from pytest_django import Settings

from consult.agreement import evidence
from consult.agreement.verification import BrokenLink
from consult.models import Anchor, SignOff
from salon import triggers
from tests.consult.agreement.tampered import Chain, run


def test_the_owner_s_look_finds_what_only_an_anchor_knows(chain: Chain) -> None:
    assert evidence.look(chain.salon).is_sound

    chain.cut(2)

    found = evidence.look(chain.salon)
    assert found.broken == BrokenLink(3, "it is missing, but an anchor has it")
    assert (found.count, found.anchors, found.is_sound) == (2, 1, False)


def test_the_owner_s_look_names_anchors_that_do_not_hold_and_guards_that_are_gone(
    chain: Chain, settings: Settings
) -> None:
    anchor = Anchor.objects.get()
    run(f"UPDATE {Anchor._meta.db_table} SET text = 'x'")
    settings.APPEND_ONLY_TRIGGERS = True  # and nobody installed them

    found = evidence.look(chain.salon)

    assert found.broken is None
    assert not found.is_sound
    kept, *guards = found.faults
    no_update = triggers.names(SignOff)["UPDATE"]
    assert kept.startswith(f"Anchor {anchor.pk}: ")
    assert any(no_update in fault for fault in guards)
