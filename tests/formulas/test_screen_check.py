"""The check of a screen: true differences, plain verdicts, kept where they belong."""

import numpy as np
import pytest
from django.conf import settings
from django.core.exceptions import PermissionDenied
from django.utils import timezone

from formulas import screen_check
from formulas.engine.light.library import colour_science
from formulas.forms.screen_check import signed
from formulas.screen_check import YELLOWNESS, Check, Pair, dealt, verdict
from salon.models import AuditEvent, Device, Role, Salon, ScreenVerdict, Staff
from salon.tablet import screen, services
from tests.factories.salon import StaffFactory
from tests.typed import SignIn

ADDRESS = "/screen/"


@pytest.fixture
def owner(salon: Salon) -> Staff:
    return StaffFactory(salon=salon, role=Role.OWNER)


def _on_screen(code: str) -> np.ndarray:
    """L*a*b* of a screen colour by colour-science alone."""
    colour = colour_science()
    rgb = colour.notation.HEX_to_RGB(code)
    return np.asarray(colour.XYZ_to_Lab(colour.sRGB_to_XYZ(rgb)))


def _apart(pair: Pair) -> float:
    difference = colour_science().difference.delta_E_CIE2000
    return float(difference(_on_screen(pair.left), _on_screen(pair.right)))


@pytest.mark.parametrize("seed", range(6))
def test_pairs_are_as_far_apart_on_the_screen_as_they_are_said_to_be(
    salon: Salon, seed: int
) -> None:
    """CIEDE2000 by colour-science; 0.5 is what 8 bits per channel and the observer leave."""
    check = dealt(seed, salon=salon)

    assert [_apart(pair) for pair in check.pairs] == pytest.approx(
        [pair.apart for pair in check.pairs], abs=0.5
    )
    assert sorted(pair.apart for pair in check.pairs) == [0, 0, 2, 2, 4, 4, 4]


def test_every_step_of_a_ramp_is_further_off_than_an_eye_needs(salon: Salon) -> None:
    for ramp in (dealt(1, salon=salon).dark, dealt(1, salon=salon).light):
        lightness = [_on_screen(grey)[0] for grey in ramp]
        assert np.diff(lightness) == pytest.approx(screen_check.STEP, abs=0.4)


def test_checks_differ_so_that_none_is_learnt_by_heart(salon: Salon) -> None:
    assert len({dealt(seed, salon=salon) for seed in range(12)}) == 12
    assert dealt(3, salon=salon) == dealt(3, salon=salon)


def _answers(check: Check, **changes: object) -> dict[str, object]:
    """What somebody sees on a perfect screen."""
    return {
        "dark_steps": len(check.dark),
        "light_steps": len(check.light),
        "differ": [pair.apart > 0 for pair in check.pairs],
        **changes,
    }


def _blind_to(check: Check, *, apart: float, along: object = None) -> list[bool]:
    return [
        pair.apart > 0 and not (pair.apart == apart and (along is None or pair.along == along))
        for pair in check.pairs
    ]


def test_answers_lead_to_plain_verdicts(salon: Salon) -> None:
    check = dealt(5, salon=salon)

    def said(**changes: object) -> ScreenVerdict:
        return verdict(check, **_answers(check, **changes))  # type: ignore[arg-type]

    assert said() == ScreenVerdict.TRUSTED
    night = _blind_to(check, apart=4, along=YELLOWNESS)
    assert said(differ=night) == ScreenVerdict.NIGHT_MODE
    assert said(differ=_blind_to(check, apart=4)) == ScreenVerdict.UNFIT
    assert said(differ=_blind_to(check, apart=2)) == ScreenVerdict.TOO_DIM
    assert said(dark_steps=len(check.dark) - 1) == ScreenVerdict.TOO_DIM
    assert said(light_steps=len(check.light) - 1) == ScreenVerdict.UNFIT
    assert said(differ=[True] * len(check.pairs)) == ScreenVerdict.UNFIT  # sees what is not


def _posted(check: Check, seed: int, **changes: str) -> dict[str, str]:
    pairs = {
        f"pair_{n}": "different" if pair.apart else "same"
        for n, pair in enumerate(check.pairs, start=1)
    }
    steps = {"dark_steps": str(len(check.dark)), "light_steps": str(len(check.light))}
    return {"seed": signed(seed), **pairs, **steps, **changes}


def test_an_enrolled_device_keeps_its_verdict(
    client_for: SignIn, owner: Staff, salon: Salon
) -> None:
    device, token = services.enrol_device(name="Counter", by=owner, at=timezone.now())
    browser = client_for(owner)
    browser.cookies[settings.DEVICE_COOKIE_NAME] = token

    answer = browser.post(ADDRESS, _posted(dealt(7, salon=salon), 7))

    assert answer.status_code == 302
    device.refresh_from_db()
    assert device.screen_verdict == "trusted"
    assert device.screen_checked_at is not None
    assert AuditEvent.objects.get(kind="screen checked").detail == {"verdict": "trusted"}
    assert screen.COOKIE not in answer.cookies
    assert "You can trust this screen." in browser.get(ADDRESS).text
    assert "shows colour well enough" in browser.get("/salon/devices/").text


def test_another_browser_keeps_its_own_verdict_and_none_that_was_forged(
    client_for: SignIn, owner: Staff, salon: Salon
) -> None:
    browser = client_for(owner)
    assert "You can trust" not in browser.get(ADDRESS).text
    posted = _posted(dealt(7, salon=salon), 7, dark_steps="1")

    browser.post(ADDRESS, posted)

    assert "Make the screen brighter." in browser.get(ADDRESS).text
    assert "too dark to judge by" in browser.get("/salon/devices/").text
    browser.cookies[screen.COOKIE] = "trusted 2026-03-11T12:00:00+00:00:forged"
    assert "You can trust" not in browser.get(ADDRESS).text


def test_an_answer_left_out_is_asked_for_and_nothing_else_is_lost(
    client_for: SignIn, owner: Staff, salon: Salon
) -> None:
    posted = _posted(dealt(7, salon=salon), 7)
    del posted["pair_2"]

    answer = client_for(owner).post(ADDRESS, posted)

    assert answer.status_code == 422
    assert answer.context["check"] == dealt(7, salon=salon)  # the same pictures again
    assert list(answer.context["form"].errors) == ["pair_2"]
    assert f'value="{posted["dark_steps"]}"' in answer.text


def test_nobody_deals_their_own_pictures(
    client_for: SignIn, owner: Staff, salon: Salon
) -> None:
    posted = {**_posted(dealt(7, salon=salon), 7), "seed": "7"}

    answer = client_for(owner).post(ADDRESS, posted)

    assert answer.status_code == 422
    assert "too old" in answer.text


def test_only_owners_record_a_check(owner: Staff, stylist: Staff) -> None:
    device, _token = services.enrol_device(name="Counter", by=owner, at=timezone.now())

    with pytest.raises(PermissionDenied):
        services.record_screen_check(
            device=device, verdict=ScreenVerdict.TRUSTED, by=stylist, at=timezone.now()
        )

    assert Device.objects.get().screen_verdict == ""
