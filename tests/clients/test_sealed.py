"""Words about a client lie encrypted; their keys can be destroyed and wrapped again."""

import base64
import datetime as dt
import io

import pytest
from cryptography.exceptions import InvalidTag
from django.core.checks import run_checks
from django.core.exceptions import FieldError
from django.core.management import CommandError, call_command
from django.db import connection
from django.db.models import Model
from pytest_django import DjangoAssertNumQueries, Settings

from clients import services
from clients.models import Client, ClientAlert, ClientKey, SafetyAnswer
from clients.sealed import keys
from clients.sealed.fields import Erased, Sealed, close_rows
from clients.skin_test.safety import QUESTIONS
from salon import storage_key
from salon.models import Salon, Staff
from tests.factories.clients import ClientFactory

WORDS = "Carbamazepine since the spring"
NEW_KEY = base64.b64encode(b"n" * 32).decode()


@pytest.fixture
def guest(salon: Salon) -> Client:
    return ClientFactory(salon=salon)


@pytest.fixture
def alert(guest: Client, receptionist: Staff, now: dt.datetime) -> ClientAlert:
    return services.raise_alert(
        client=guest, kind="medical", text=WORDS, by=receptionist, at=now
    )


def _stored(model: type[Model], column: str) -> list[str]:
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT {column} FROM {model._meta.db_table}")  # noqa: S608
        return [value for (value,) in cursor.fetchall()]


def test_health_data_cannot_be_read_in_the_database(
    alert: ClientAlert, guest: Client, receptionist: Staff, now: dt.datetime
) -> None:
    question = QUESTIONS[0].key
    services.answer_safety_questions(
        client=guest, answers={question: "yes"}, by=receptionist, at=now
    )

    assert ClientAlert.objects.get().text == WORDS
    assert SafetyAnswer.objects.get(question=question).answer == "yes"
    assert _stored(ClientAlert, "text")[0].startswith("sealed1:")
    assert all(one.startswith("sealed1:") for one in _stored(SafetyAnswer, "answer"))
    if connection.vendor == "sqlite":
        whole = connection.connection.serialize()
        assert WORDS.encode() not in whole
        assert storage_key.current() not in whole


def test_a_value_opens_only_where_it_was_closed(alert: ClientAlert) -> None:
    """As NIST SP 800-38D has it: what is authenticated beside the text must be the same."""
    with connection.cursor() as cursor:
        cursor.execute("UPDATE clients_clientalert SET details = text")

    with pytest.raises(InvalidTag):
        ClientAlert.objects.get()


# By name, so that the type checker's plugin does not ask for the lookup that is refused.
@pytest.mark.parametrize("looked_for", [{"text__contains": "Carba"}, {"text": WORDS}])
def test_no_query_looks_into_words(alert: ClientAlert, looked_for: dict[str, str]) -> None:
    with pytest.raises(FieldError):
        list(ClientAlert.objects.filter(**looked_for))


def test_a_destroyed_key_leaves_nothing_to_read(
    alert: ClientAlert, guest: Client, receptionist: Staff, now: dt.datetime
) -> None:
    stored = _stored(ClientAlert, "text")

    keys.destroy([guest.pk], purposes=[keys.Purpose.KEPT], at=now)

    read = ClientAlert.objects.get()
    assert isinstance(read.text, Erased)
    assert (read.words, read.details) == ("erased", {})
    assert _stored(ClientAlert, "text") == stored
    with pytest.raises(keys.ClientErased):
        services.raise_alert(client=guest, kind="other", text="x", by=receptionist, at=now)
    assert ClientKey.objects.get(purpose="kept").wrapped == ""


def test_another_client_keeps_their_own(
    alert: ClientAlert, salon: Salon, receptionist: Staff, now: dt.datetime
) -> None:
    other = ClientFactory(salon=salon)
    services.raise_alert(client=other, kind="other", text="tea", by=receptionist, at=now)

    keys.destroy([alert.client_id], purposes=keys.Purpose, at=now)

    assert ClientAlert.objects.get(client=other).text == "tea"


def test_one_request_fetches_keys_once(
    alert: ClientAlert,
    salon: Salon,
    receptionist: Staff,
    now: dt.datetime,
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    for _one in range(3):
        services.raise_alert(
            client=ClientFactory(salon=salon), kind="other", text="tea", by=receptionist, at=now
        )

    with keys.at_hand(), django_assert_num_queries(2):
        assert len({row.text for row in ClientAlert.objects.all()}) == 2


def test_a_key_takes_over(alert: ClientAlert, settings: Settings) -> None:
    former = settings.STORAGE_KEY
    settings.STORAGE_KEY, settings.FORMER_STORAGE_KEYS = NEW_KEY, [former]
    assert ClientAlert.objects.get().text == WORDS

    call_command("storage_key", "--wrap-again", stdout=io.StringIO())
    settings.FORMER_STORAGE_KEYS = []

    assert ClientAlert.objects.get().text == WORDS
    settings.STORAGE_KEY = former
    with pytest.raises(storage_key.KeyLost):
        ClientAlert.objects.get()


def test_whoever_opens_many_goes_on_when_a_key_takes_over(settings: Settings) -> None:
    secret, former = keys.new_key(), settings.STORAGE_KEY
    unwrap = storage_key.opener()
    before = storage_key.wrap(secret)
    settings.STORAGE_KEY, settings.FORMER_STORAGE_KEYS = NEW_KEY, [former]
    after = storage_key.wrap(secret)

    assert unwrap(before) == unwrap(after) == secret
    settings.STORAGE_KEY, settings.FORMER_STORAGE_KEYS = former, []
    with pytest.raises(storage_key.KeyLost):
        unwrap(after)


def test_a_wrong_key_is_said_before_anybody_needs_it(
    alert: ClientAlert, settings: Settings
) -> None:
    settings.STORAGE_KEY = NEW_KEY

    found = [fault.id for fault in run_checks(tags=["database"], databases=["default"])]

    assert "clients.E002" in found
    with pytest.raises(CommandError, match="recovery sheet"):
        call_command("storage_key")


def test_rows_of_an_earlier_release_are_closed(alert: ClientAlert) -> None:
    with connection.cursor() as cursor:
        cursor.execute("UPDATE clients_clientalert SET text = 'Latex', details = '{}'")
    assert ClientAlert.objects.get().text == "Latex"

    assert close_rows(ClientAlert) == 1

    assert _stored(ClientAlert, "text")[0].startswith("sealed1:")
    assert ClientAlert.objects.get().text == "Latex"


def test_words_keep_their_length(guest: Client, receptionist: Staff, now: dt.datetime) -> None:
    from django.core.exceptions import ValidationError

    row = ClientAlert(
        client=guest, kind="other", text="x" * 201, recorded_at=now, recorded_by=receptionist
    )

    with pytest.raises(ValidationError, match="at most 200"):
        row.full_clean()
    assert Sealed("x") == "x"
