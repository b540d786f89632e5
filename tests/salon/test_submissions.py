import uuid

from salon.models import Policy, Staff
from tests.typed import SignIn

FIELDS = {
    "patch_lead_hours": 72,
    "patch_read_hours": 48,
    "patch_valid_months": 6,
    "minimum_age": 18,
    "records_keep_years": 6,
    "photos_keep_years": 2,
    "messages_keep_months": 12,
    "idle_lock_minutes": 5,
}


def test_a_form_sent_twice_writes_once(client_for: SignIn, owner: Staff) -> None:
    browser = client_for(owner)
    form = {**FIELDS, "once": str(uuid.uuid4())}

    first = browser.post("/salon/policy/", form)
    second = browser.post("/salon/policy/", form)

    assert (first.status_code, second.status_code) == (302, 302)
    assert first.headers["Location"] == second.headers["Location"]
    assert Policy.objects.count() == 1


def test_an_invalid_form_gives_its_key_back(client_for: SignIn, owner: Staff) -> None:
    browser = client_for(owner)
    key = str(uuid.uuid4())

    refused = browser.post("/salon/policy/", {**FIELDS, "patch_lead_hours": 2, "once": key})
    accepted = browser.post("/salon/policy/", {**FIELDS, "once": key})

    assert refused.status_code == 422
    assert key in refused.text
    assert accepted.status_code == 302


def test_two_different_forms_write_twice(client_for: SignIn, owner: Staff) -> None:
    browser = client_for(owner)

    for _ in range(2):
        browser.post("/salon/policy/", {**FIELDS, "once": str(uuid.uuid4())})

    assert Policy.objects.count() == 2
