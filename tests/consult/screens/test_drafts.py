"""Drafts: kept, replaced, dropped, refused, too large, another salon's, gone in time."""

import datetime as dt
import json
import uuid
from typing import Any

import pytest
import time_machine
from django.core.exceptions import PermissionDenied
from django.db import IntegrityError, transaction
from django.test import Client as Browser
from django.urls import reverse

from consult import services
from consult.models import Draft, Presence, PreTestKind
from consult.policies import VisitEnded
from consult.screens import client_view
from salon.models import Role, Salon, Staff
from tests.factories.consult import Story, opened, owner_of
from tests.factories.preparation import lightened
from tests.factories.salon import StaffFactory
from tests.typed import Answer, SignIn

NOTE = "The scalp is sore behind the ear"


def _keep(browser: Browser, story: Story, **changes: Any) -> Answer:
    data = {
        "step": "hair", "part": "", "version": story.visit.version,
        "fields": json.dumps([["scalp", NOTE], ["roots-same", "on"]]), **changes,
    }  # fmt: skip
    return browser.post(reverse("consult:draft", args=[story.visit.pk]), data)


def _here(browser: Browser, story: Story, **changes: Any) -> Answer:
    data = {"step": "hair", "seat": "a1", "version": story.visit.version, **changes}
    return browser.post(reverse("consult:here", args=[story.visit.pk]), data)


def test_what_is_typed_is_kept_and_replaced_by_what_is_typed_later(
    story: Story, tablet: Browser, stylist: Staff
) -> None:
    first = _keep(tablet, story)
    second = _keep(tablet, story, fields=json.dumps([["scalp", "calm"]]))

    assert (first.status_code, second.status_code) == (200, 200)
    assert second.headers["Cache-Control"] == "no-store"
    draft = Draft.objects.get()
    assert (draft.staff, draft.fields) == (stylist, [["scalp", "calm"]])
    story.visit.refresh_from_db()
    assert story.visit.version == 1  # a draft is no change of the visit


def test_a_draft_is_offered_back_to_whoever_typed_it_and_to_nobody_else(
    story: Story, tablet: Browser, client_for: SignIn, owner: Staff
) -> None:
    _keep(tablet, story)

    own = _here(tablet, story, first="on").json()["drafts"]
    others = _here(client_for(owner), story, first="on").json()["drafts"]

    assert [one["fields"] for one in own] == [[["scalp", NOTE], ["roots-same", "on"]]]
    assert others == []
    assert "drafts" not in _here(tablet, story).json()  # asked for once, when a page opens


def test_a_draft_on_an_old_version_is_kept_and_says_what_changed(
    story: Story, tablet: Browser
) -> None:
    old = story.visit.version
    story.answer()

    response = _keep(tablet, story, version=old)

    assert response.status_code == 409
    assert "safety questions answered" in response.json()["changes"][0]
    assert Draft.objects.get().base_version == old
    offered = _here(tablet, story, first="on").json()["drafts"]
    assert "safety questions answered" in offered[0]["changes"][0]


def test_saving_a_step_drops_its_draft_and_leaves_the_others(
    story: Story, tablet: Browser
) -> None:
    story.answer()
    _keep(tablet, story)
    _keep(tablet, story, part="elsewhere")
    page = reverse("consult:hair", args=[story.visit.pk])
    form = {
        "version": story.visit.version, "once": uuid.uuid4(),
        "draft_step": "hair", "draft_part": "",
        "roots-natural_level": "6", "roots-lifted_level": "8", "roots-undertone": "0",
        "roots-white_percent": "0", "roots-porosity": "0", "roots-is_toned": "on",
        "mid_lengths-same": "on", "mid_lengths-is_toned": "on", "ends-same": "on",
        "texture": "medium", "density": "normal", "length": "shoulder",
    }  # fmt: skip

    refused = tablet.post(page, {**form, "roots-lifted_level": "80"})
    kept_after_refusal = Draft.objects.count()
    saved = tablet.post(page, form)

    assert (refused.status_code, kept_after_refusal) == (422, 2)
    assert saved.status_code == 302
    assert [draft.part for draft in Draft.objects.all()] == ["elsewhere"]


def test_the_forms_of_one_page_each_have_a_draft_of_their_own(
    story: Story, tablet: Browser
) -> None:
    """The tests on the hair, and the steps before the toner: one further, one put right."""
    step = lightened(story)
    tests = tablet.get(reverse("consult:pre_tests", args=[story.visit.pk])).text
    further = tablet.get(reverse("consult:steps", args=[story.visit.pk])).text
    right = tablet.get(reverse("consult:correct_step", args=[story.visit.pk, step.pk])).text
    overview = tablet.get(reverse("consult:visit", args=[story.visit.pk])).text

    for kind in PreTestKind.values:
        assert tests.count(f'data-autosave="{kind}"') == 1
    assert 'data-autosave=""' in further
    assert f'data-autosave="{step.pk}"' in right
    assert [text.count('data-step="steps"') for text in (further, right)] == [1, 1]
    assert 'data-autosave="stop"' in overview


def test_recording_one_test_on_the_hair_leaves_what_is_typed_into_the_others(
    story: Story, tablet: Browser
) -> None:
    for kind in ("strand", "porosity"):
        _keep(tablet, story, step="pre_tests", part=kind, fields=json.dumps([["note", kind]]))
    version = story.visit.version

    tablet.post(
        reverse("consult:pre_tests", args=[story.visit.pk]),
        {"version": version, "draft_step": "pre_tests", "draft_part": "porosity",
         "kind": "porosity", "zone": "ends", "result": "smooth"},
    )  # fmt: skip

    assert [draft.part for draft in Draft.objects.all()] == ["strand"]
    (offered,) = _here(tablet, story, step="pre_tests", first="on").json()["drafts"]
    assert offered["fields"] == [["note", "strand"]]
    assert offered["own"] is True  # saved since, but by nobody else: no conflict to settle


def test_what_someone_else_saved_since_is_not_ones_own(
    story: Story, tablet: Browser, owner: Staff
) -> None:
    _keep(tablet, story)
    old = story.visit.version
    story.by = owner
    story.answer()

    told = _here(tablet, story, version=old, first="on").json()

    assert (told["own"], told["drafts"][0]["own"]) == (False, False)


def test_a_draft_that_is_not_wanted_is_dropped(story: Story, tablet: Browser) -> None:
    _keep(tablet, story)

    response = tablet.post(
        reverse("consult:drop_draft", args=[story.visit.pk]), {"step": "hair", "part": ""}
    )

    assert response.status_code == 204
    assert not Draft.objects.exists()


def test_an_ended_visit_keeps_no_draft(story: Story, tablet: Browser) -> None:
    _keep(tablet, story)
    services.stop_visit(visit=story.visit, reason="fever", by=story.by, at=story.later())

    response = _keep(tablet, story)

    assert response.status_code == 409
    assert "ended" in response.json()
    assert not Draft.objects.exists()
    with pytest.raises(VisitEnded):
        services.keep_draft(
            visit=story.visit, step="hair", part="", fields=[], base_version=1,
            by=story.by, at=story.at,
        )  # fmt: skip


def test_a_draft_is_gone_after_a_day(story: Story, tablet: Browser, now: dt.datetime) -> None:
    with time_machine.travel(now - dt.timedelta(hours=25), tick=False):
        _keep(tablet, story)

    assert _here(tablet, story, first="on").json()["drafts"] == []
    _keep(tablet, story, part="new")
    assert [draft.part for draft in Draft.objects.all()] == ["new"]


@pytest.mark.parametrize(
    "fields",
    [
        "",
        "no json",
        "{}",
        '[["only a name"]]',
        '[["a", 1]]',
        '[["", "x"]]',
        json.dumps([["a", "nul \x00"]]),
        json.dumps([["a", "x" * 20_000]]),
        json.dumps([["a", "x"]] * 401),
        "[" * 9000,
    ],
)
def test_a_draft_that_makes_no_sense_or_is_too_large_is_refused(
    story: Story, tablet: Browser, fields: str
) -> None:
    assert _keep(tablet, story, fields=fields).status_code == 422
    assert not Draft.objects.exists()


@pytest.mark.parametrize(
    "wrong", [{"step": ""}, {"step": "a/b"}, {"step": "x" * 21}, {"version": "x"}]
)
def test_a_draft_of_nothing_is_refused(
    story: Story, tablet: Browser, wrong: dict[str, object]
) -> None:
    assert _keep(tablet, story, **wrong).status_code == 422


def test_a_signature_and_keys_are_never_kept(story: Story, tablet: Browser) -> None:
    names = ("signature_strokes", "signature_png", "csrfmiddlewaretoken", "once", "password")

    _keep(tablet, story, step="sign", fields=json.dumps([[name, "x"] for name in names]))

    assert Draft.objects.get().fields == []


@pytest.mark.parametrize("name", ["draft", "drop_draft", "here"])
def test_another_salons_visit_is_not_there(
    tablet: Browser, other_salon: Salon, now: dt.datetime, name: str
) -> None:
    theirs = opened(other_salon, stylist=owner_of(other_salon), at=now)

    assert tablet.post(reverse(f"consult:{name}", args=[theirs.visit.pk])).status_code == 404
    assert tablet.get(reverse(f"consult:{name}", args=[theirs.visit.pk])).status_code == 405


def test_the_services_refuse_the_desk_and_another_salon(
    story: Story, receptionist: Staff, other_salon: Salon
) -> None:
    for by in (receptionist, StaffFactory(salon=other_salon, role=Role.OWNER)):
        with pytest.raises(PermissionDenied):
            services.keep_draft(
                visit=story.visit, step="hair", part="", fields=[], base_version=1,
                by=by, at=story.at,
            )  # fmt: skip
        with pytest.raises(PermissionDenied):
            services.note_presence(visit=story.visit, seat="a", step="hair", by=by, at=story.at)


@pytest.mark.parametrize("name", ["draft", "drop_draft", "here"])
def test_a_session_in_the_clients_hands_neither_keeps_nor_asks(
    story: Story, tablet: Browser, name: str
) -> None:
    session = tablet.session
    session[client_view.KEY] = story.visit.pk
    session.save()

    response = tablet.post(reverse(f"consult:{name}", args=[story.visit.pk]))

    assert response.headers["Location"].endswith("/client/choice/")
    assert not Draft.objects.exists()
    assert not Presence.objects.exists()


@pytest.mark.parametrize("model", [Draft, Presence])
def test_one_draft_of_a_form_and_one_presence_of_a_seat(
    story: Story, model: type[Draft | Presence]
) -> None:
    row: dict[str, Any] = {"visit": story.visit, "staff": story.by, "step": "hair"}
    if model is Draft:
        row |= {"fields": [], "base_version": 1, "updated_at": story.at}
    else:
        row |= {"seat": "a", "since": story.at, "seen_at": story.at}
    model._default_manager.create(**row)

    with pytest.raises(IntegrityError), transaction.atomic():
        model._default_manager.create(**row)


def test_the_database_refuses_a_draft_of_no_step_and_a_presence_seen_before_it_began(
    story: Story,
) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        Draft.objects.create(
            visit=story.visit, staff=story.by, step="", fields=[], base_version=1,
            updated_at=story.at,
        )  # fmt: skip
    with pytest.raises(IntegrityError), transaction.atomic():
        Presence.objects.create(
            visit=story.visit, staff=story.by, step="hair", seat="a",
            since=story.at, seen_at=story.at - dt.timedelta(seconds=1),
        )  # fmt: skip
