"""A client list is looked at, taken in piece by piece, reported on, and undone."""

import datetime as dt
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client as Browser

from clients.models import Client, ClientImport, ImportStatus, SearchKey, SearchVariant
from clients.people import csv_file, import_rows
from clients.selectors import find_clients
from clients.services import ImportRefused, load_import, start_import, take_in_piece
from salon.models import Salon, Staff
from tests.factories.clients import AppointmentFactory, ClientFactory
from tests.typed import Answer, SignIn

TODAY = dt.date(2026, 3, 11)
LIST = (
    "Last name;First name;Mobile;E-mail;Date of birth\r\n"
    "Adichie;Ngozi;0117 496 0101;ngozi@example.com;12/04/1988\r\n"
    "Åström;Tove;;;\r\n"
    "Lee;Ann;12;;\r\n"
    ";;0117 496 0102;;\r\n"
    "Lee;Bo;;not an address;\r\n"
    "Lee;Cy;;;31/02/1990\r\n"
    "Adichie;Ngozi;;;12/04/1988\r\n"
)


pytestmark = pytest.mark.usefixtures("clock")


@pytest.fixture
def boss(client_for: SignIn, owner: Staff) -> Browser:
    return client_for(owner)


def upload(boss: Browser, content: bytes | str, **changed: Any) -> Answer:
    octets = content if isinstance(content, bytes) else content.encode()
    file = SimpleUploadedFile("list.csv", octets)
    return boss.post("/clients/imports/", {"file": file, **changed})


def take_in(boss: Browser, found: ClientImport) -> ClientImport:
    mapping = {f"column-{n}": name for n, name in found.mapping.items()}
    boss.post(f"/clients/imports/{found.pk}/", {**mapping, "take": "1"})
    for _ in range(99):
        found.refresh_from_db()
        if found.status not in {ImportStatus.TAKING, ImportStatus.UNDOING}:
            break
        boss.post(f"/clients/imports/{found.pk}/go-on/", headers={"HX-Request": "true"})
    return found


def test_a_list_is_shown_before_anyone_is_registered(boss: Browser) -> None:
    response = upload(boss, LIST)
    found = ClientImport.objects.get()
    page = boss.get(response.headers["Location"]).text

    assert found.mapping == {
        "0": "name", "1": "first_name", "2": "phone", "3": "email", "4": "birth_date",
    }  # fmt: skip
    assert "Ngozi Adichie" in page
    assert "+441174960101" in page
    assert "2 of the first 7 rows cannot be imported" in page
    assert "3 values in the first 7 rows cannot be read" in page
    assert not Client.objects.exists()


def test_what_is_sound_is_taken_in_and_the_rest_reported_row_by_row(
    boss: Browser, salon: Salon
) -> None:
    upload(boss, LIST)

    found = take_in(boss, ClientImport.objects.get())

    assert sorted(Client.objects.values_list("name", flat=True)) == [
        "Ann Lee",
        "Bo Lee",
        "Cy Lee",
        "Ngozi Adichie",
        "Tove Åström",
    ]
    assert (found.status, found.added_count, found.rows) == (ImportStatus.DONE, 5, [])
    assert found.content == b""
    report = boss.get(f"/clients/imports/{found.pk}/refused.csv").getvalue()
    assert report.decode("utf-8-sig") == (
        "Last name;First name;Mobile;E-mail;Date of birth;Reason\r\n"
        ";;0117 496 0102;;;The name is missing.\r\n"
        "Adichie;Ngozi;;;12/04/1988;This person is already a client.\r\n"
    )
    assert find_clients(salon=salon, text="astrom")[0].name == "Tove Åström"


def test_an_import_is_undone_but_for_those_in_use(boss: Browser, salon: Salon) -> None:
    upload(boss, LIST)
    found = take_in(boss, ClientImport.objects.get())
    AppointmentFactory(client=Client.objects.get(name="Ngozi Adichie"))

    boss.post(f"/clients/imports/{found.pk}/undo/")
    boss.post(f"/clients/imports/{found.pk}/go-on/")

    found.refresh_from_db()
    assert (found.status, found.kept_count) == (ImportStatus.UNDONE, 1)
    assert Client.objects.get().name == "Ngozi Adichie"
    assert not SearchKey.objects.filter(key="astrom").exists()
    assert not SearchVariant.objects.filter(word="astrom").exists()
    assert "1 client was kept" in boss.get(f"/clients/imports/{found.pk}/").text


def test_someone_who_was_changed_since_is_kept(boss: Browser) -> None:
    upload(boss, LIST)
    found = take_in(boss, ClientImport.objects.get())
    Client.objects.filter(name="Tove Åström").update(version=2)

    boss.post(f"/clients/imports/{found.pk}/undo/")
    boss.post(f"/clients/imports/{found.pk}/go-on/")

    assert Client.objects.get().name == "Tove Åström"


def test_nobody_on_record_is_brought_in_twice(boss: Browser, salon: Salon) -> None:
    ClientFactory(
        salon=salon, name="Adichie Ngozi", known_as="Ngo", phone="+441174960101",
        birth_date=None,
    )  # fmt: skip
    ClientFactory(salon=salon, name="Tove Åström", birth_date=None)
    upload(boss, LIST)

    found = take_in(boss, ClientImport.objects.get())

    assert [number for number, _why, _cells in found.refused] == [2, 3, 5]
    assert not Client.objects.filter(brought_by=found, name="Tove Åström").exists()


def test_a_family_that_shares_a_phone_is_taken_in_whole(boss: Browser, salon: Salon) -> None:
    ClientFactory(salon=salon, name="Chidi Adichie", phone="+441174960101")
    upload(boss, LIST)

    take_in(boss, ClientImport.objects.get())

    assert Client.objects.filter(phone="+441174960101").count() == 2


def test_the_same_list_again_adds_nobody(boss: Browser) -> None:
    for _time in range(2):
        upload(boss, LIST)
        found = take_in(boss, ClientImport.objects.latest("pk"))

    assert (found.added_count, len(found.refused)) == (0, 7)


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"", "The submitted file is empty"),
        (b"name,phone\r\n", "no rows below the header"),
        (b"\xff\xfen\x00a", "cannot be read"),
        (b"BEGIN:VCARD\r\nnothing", "no rows below the header"),
    ],
)
def test_a_file_that_is_no_list_is_refused(boss: Browser, content: bytes, message: str) -> None:
    response = upload(boss, content)

    assert response.status_code == 422
    assert message in response.text
    assert not ClientImport.objects.exists()


def test_rows_with_broken_letters_are_refused_and_never_guessed(boss: Browser) -> None:
    upload(boss, "name,note\r\nGood Göran,\r\n".encode() + "Bad Göran,\r\n".encode("cp1252"))

    found = take_in(boss, ClientImport.objects.get())

    assert Client.objects.get().name == "Good Göran"
    assert "characters in this row cannot be read" in found.refused[0][1]


def test_other_letters_are_guessed(boss: Browser) -> None:
    upload(boss, "name\r\nGöran Ödegård\r\n".encode("cp1252"))

    take_in(boss, ClientImport.objects.get())

    assert Client.objects.get().name == "Göran Ödegård"


def test_a_list_with_a_byte_order_mark_or_tabs_is_read() -> None:
    for content in (
        "\ufeffname\tphone\r\nAnn\t1\r\n".encode(),
        "name\tphone\nAnn\t1".encode("utf-16"),
    ):
        table = csv_file.read(content)
        assert (table.header, table.rows) == (["name", "phone"], [["Ann", "1"]])


def test_cards_are_taken_in_as_well(boss: Browser) -> None:
    upload(boss, "BEGIN:VCARD\r\nVERSION:4.0\r\nFN:Ann Lee\r\nBDAY:19900501\r\nEND:VCARD\r\n")

    take_in(boss, ClientImport.objects.get())

    assert Client.objects.get().birth_date == dt.date(1990, 5, 1)


def test_a_mapping_without_a_name_or_with_one_meaning_twice_is_refused(boss: Browser) -> None:
    upload(boss, LIST)
    address = f"/clients/imports/{ClientImport.objects.get().pk}/"

    none = boss.post(address, {"column-0": "", "take": "1"})
    twice = boss.post(address, {"column-0": "name", "column-1": "name", "take": "1"})

    assert none.status_code == twice.status_code == 422
    assert "Choose the column with the name" in none.text
    assert "cannot have the same meaning" in twice.text
    assert ClientImport.objects.get().status == ImportStatus.LOADED


def test_a_list_is_started_once(owner: Staff, now: dt.datetime) -> None:
    table = csv_file.read(LIST.encode())
    found = load_import(file_name="x.csv", table=table, by=owner, at=now)
    start_import(loaded=found, mapping={"0": "name"}, by=owner, at=now)
    take_in_piece(taking=found, by=owner, at=now)

    with pytest.raises(ImportRefused):
        start_import(loaded=found, mapping={"0": "name"}, by=owner, at=now)
    with pytest.raises(ImportRefused):
        take_in_piece(taking=found, by=owner, at=now)


def test_a_loaded_file_is_thrown_away(boss: Browser) -> None:
    upload(boss, LIST)
    found = ClientImport.objects.get()

    boss.post(f"/clients/imports/{found.pk}/discard/")

    found.refresh_from_db()
    assert (found.status, found.rows) == (ImportStatus.UNDONE, [])


def test_imports_of_another_salon_do_not_exist(
    boss: Browser, other_salon: Salon, stylist: Staff, now: dt.datetime
) -> None:
    found = ClientImport.objects.create(
        salon=other_salon, file_name="x", loaded_at=now, loaded_by=stylist
    )

    assert boss.get(f"/clients/imports/{found.pk}/").status_code == 404


@pytest.mark.parametrize("cell", ["=1+1", "+44 117 496 0101", "-x", "@a", "plain", "'quoted"])
def test_the_guard_before_a_cell_comes_off_again(cell: str) -> None:
    assert csv_file.plain(csv_file.safe(cell)) == cell


@pytest.mark.slow
def test_fifty_thousand_rows_with_broken_letters_are_read_and_reported(
    owner: Staff, now: dt.datetime
) -> None:
    good, bad = "Göran Nr{n},\r\n", "Göran Nr{n},\r\n"
    octets = b"name,note\r\n" + b"".join(
        (bad.format(n=n).encode("latin-1") if n % 10 == 0 else good.format(n=n).encode())
        for n in range(50_000)
    )

    table = csv_file.read(octets)
    found = load_import(file_name="big.csv", table=table, by=owner, at=now)
    start_import(loaded=found, mapping={"0": "name"}, by=owner, at=now)
    first = take_in_piece(taking=found, by=owner, at=now)

    assert len(table.rows) == 50_000
    assert len(table.broken) == 5_000
    assert (first.position, first.added_count, len(first.refused)) == (250, 225, 25)


def test_every_field_that_can_be_chosen_is_kept() -> None:
    person = import_rows.person_of(
        ["Ann", "Lee", "Annie", "", "a@example.com", "1990-05-01", "likes tea"],
        date_order="dmy",
        mapping=dict(zip("0123456", ["first_name", "name", "known_as", "phone", "email",
                                     "birth_date", "note"], strict=True)),
        broken=False,
        today=TODAY,
    )  # fmt: skip

    assert person.set_aside == []
    assert person.fields == import_rows.Fields(
        name="Ann Lee", known_as="Annie", phone="", email="a@example.com",
        birth_date=dt.date(1990, 5, 1), note="likes tea",
    )  # fmt: skip
