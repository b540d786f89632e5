"""One bad value costs nobody: a nasty list is taken in, what is bad waits to be corrected."""

import datetime as dt

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client as Browser
from pytest_django import Settings

from clients import services
from clients.models import Client, ClientImport, ImportStatus, ValueToCorrect
from clients.people import csv_file
from salon.models import AuditEvent, Salon, Staff
from tests.clients.people.nasty_list import nasty_list
from tests.clients.people.test_import import take_in, upload
from tests.typed import SignIn

pytestmark = pytest.mark.usefixtures("clock")


@pytest.fixture
def boss(client_for: SignIn, owner: Staff) -> Browser:
    return client_for(owner)


def loaded(boss: Browser, text: str | bytes) -> ClientImport:
    upload(boss, text)
    return ClientImport.objects.latest("pk")


def test_a_nasty_list_of_two_thousand_rows_is_taken_in(
    boss: Browser, settings: Settings
) -> None:
    settings.PHONENUMBER_DEFAULT_REGION = "DE"
    nasty = nasty_list()

    upload(boss, nasty.content)
    found = take_in(boss, ClientImport.objects.get())

    assert found.status == ImportStatus.DONE
    assert (found.encoding, found.separator) == ("cp1252", ";")
    assert set(found.mapping.values()) == {
        "name", "first_name", "phone", "email", "birth_date", "note",
    }  # fmt: skip
    assert found.row_count == nasty.rows >= 2000
    print("nasty file:", found.added_count, "of", nasty.named, "rows with a name")
    assert found.added_count >= 0.95 * nasty.named
    assert found.added_count + len(found.refused) == nasty.rows
    assert Client.objects.filter(name__startswith="Jürgen ").exists()
    # Every bad value is kept as it was written.
    assert ValueToCorrect.objects.filter(field="phone", text="k.A.").count() > 100
    assert ValueToCorrect.objects.filter(field="birth_date", text="31.02.1980").exists()
    page = boss.get("/clients/imports/values/")
    assert "k.A." in page.text


def test_refused_rows_are_corrected_and_sent_again(boss: Browser) -> None:
    found = take_in(boss, loaded(boss, "name;note\r\n;tea\r\nAnn;\r\n"))
    report = boss.get(f"/clients/imports/{found.pk}/refused.csv").getvalue()
    corrected = report.decode("utf-8-sig").replace(";tea", "Bo;tea")

    again = take_in(boss, loaded(boss, corrected))

    assert (again.added_count, again.refused) == (1, [])
    assert Client.objects.get(name="Bo").note == "tea"


def test_a_report_of_a_report_has_one_column_of_reasons(boss: Browser) -> None:
    found = loaded(boss, "name;phone;Reason\r\n;+44 117 496 0101;old\r\nAnn;;\r\n")
    found = take_in(boss, found)

    report = boss.get(f"/clients/imports/{found.pk}/refused.csv").getvalue()

    assert report.decode("utf-8-sig") == (
        "name;phone;Reason\r\n;+44 117 496 0101;The name is missing.\r\n"
    )


# -- letters -----------------------------------------------------------------------------


def test_letters_are_changed_without_uploading_again(boss: Browser) -> None:
    found = loaded(boss, "name;x\r\nDvořák Jiří;Ann\r\n".encode("cp1250"))
    address = f"/clients/imports/{found.pk}/"
    assert found.encoding == "cp1252"  # so few letters fit both

    boss.post(address, {"encoding": "cp1250", "column-0": "name", "column-1": "known_as",
                        "take": "1"})  # fmt: skip

    found.refresh_from_db()
    assert found.status == ImportStatus.LOADED  # looked at first
    assert found.mapping == {"0": "name", "1": "known_as"}
    page = boss.get(address).text
    assert "Dvořák Jiří" in page
    take_in(boss, found)
    assert Client.objects.get().known_as == "Ann"


# -- dates -------------------------------------------------------------------------------


def test_an_unclear_column_is_asked_about(boss: Browser) -> None:
    found = loaded(boss, "name,dob\r\nAnn,03/04/1990\r\nBo,07/03/1991\r\n")
    address = f"/clients/imports/{found.pk}/"
    columns = {"column-0": "name", "column-1": "birth_date", "take": "1"}

    assert "could be 3 April or 4 March" in boss.get(address).text
    refused = boss.post(address, columns)
    assert refused.status_code == 422
    assert "Choose whether the day or the month comes first" in refused.text
    assert not Client.objects.exists()
    boss.post(address, {**columns, "date_order": "mdy"})
    boss.post(f"{address}go-on/")

    assert Client.objects.get(name="Ann").birth_date == dt.date(1990, 3, 4)


# -- single values -----------------------------------------------------------------------


def test_a_long_name_is_not_cut_without_a_word(boss: Browser) -> None:
    take_in(boss, loaded(boss, f"name\r\n{'Ann ' * 40}\r\n"))

    assert Client.objects.get().name == ("Ann " * 30).strip()
    assert ValueToCorrect.objects.get().text == ("Ann " * 40).strip()


# -- the worklist ------------------------------------------------------------------------

LIST = "name;phone;dob\r\nAnn;12;1.4.15\r\nBo;k.A.;\r\nCy;k.A.;\r\n"
WORKLIST = "/clients/imports/values/"


def of(name: str, field: str) -> ValueToCorrect:
    return ValueToCorrect.objects.get(client__name=name, field=field)


def test_a_value_stays_until_it_is_corrected(boss: Browser) -> None:
    take_in(boss, loaded(boss, LIST))
    phone, born = of("Ann", "phone"), of("Ann", "birth_date")

    wrong = boss.post(WORKLIST, {f"value-{phone.pk}": "13", f"value-{born.pk}": "1915-04-01"})
    assert wrong.status_code == 422
    assert 'value="1915-04-01"' in wrong.text
    assert ValueToCorrect.objects.count() == 4
    boss.post(
        WORKLIST,
        {
            f"value-{phone.pk}": "0117 496 0101",
            f"version-{phone.pk}": "1",
            f"value-{born.pk}": "2015-04-01",
            f"version-{born.pk}": "1",
        },
    )

    client = Client.objects.get(name="Ann")
    assert (client.phone, client.birth_date) == ("+441174960101", dt.date(2015, 4, 1))
    assert ValueToCorrect.objects.count() == 2
    assert AuditEvent.objects.filter(kind="client changed").count() == 1


def test_a_client_changed_since_is_not_overwritten(boss: Browser) -> None:
    take_in(boss, loaded(boss, LIST))
    phone = of("Ann", "phone")
    Client.objects.filter(name="Ann").update(version=2, phone="+441174960109")

    answer = boss.post(
        WORKLIST, {f"value-{phone.pk}": "0117 496 0101", f"version-{phone.pk}": "1"}
    )

    assert answer.status_code == 409
    assert Client.objects.get(name="Ann").phone == "+441174960109"
    assert f'name="version-{phone.pk}" value="2"' in answer.text


def test_what_is_no_value_is_removed_for_all_at_once(boss: Browser) -> None:
    take_in(boss, loaded(boss, LIST))
    assert "Remove for all" in boss.get(WORKLIST).text

    boss.post(f"{WORKLIST}alike/", {"field": "phone", "text": "k.A."})

    assert set(ValueToCorrect.objects.values_list("text", flat=True)) == {"12", "1.4.15"}
    assert AuditEvent.objects.get(kind="imported values removed").detail["count"] == 2


def test_undoing_an_import_takes_its_worklist_along(boss: Browser) -> None:
    found = take_in(boss, loaded(boss, LIST))

    boss.post(f"/clients/imports/{found.pk}/undo/")
    boss.post(f"/clients/imports/{found.pk}/go-on/")

    assert not Client.objects.exists()
    assert not ValueToCorrect.objects.exists()


# -- who may -----------------------------------------------------------------------------


def test_a_receptionist_imports_once_an_owner_allows_it(
    client_for: SignIn, boss: Browser, receptionist: Staff
) -> None:
    desk = client_for(receptionist)
    assert desk.get("/clients/imports/").status_code == 403
    assert "Import and export" not in desk.get("/clients/").text

    boss.post(
        f"/salon/team/{receptionist.pk}/",
        {"display_name": "Imke", "role": "receptionist", "is_active": "on",
         "may_import_lists": "on"},
    )  # fmt: skip

    assert "Import and export" in desk.get("/clients/").text
    found = take_in(desk, loaded(desk, LIST))
    assert found.added_count == 3
    assert desk.get(WORKLIST).status_code == 200
    assert desk.post("/clients/export.csv").status_code == 403


def test_the_permission_is_a_receptionists_alone(client_for: SignIn, stylist: Staff) -> None:
    stylist.may_import_lists = True
    stylist.save()

    assert client_for(stylist).get("/clients/imports/").status_code == 403


def test_a_list_and_values_of_another_salon_are_out_of_reach(
    boss: Browser, owner: Staff, other_salon: Salon, now: dt.datetime
) -> None:
    take_in(boss, loaded(boss, LIST))
    value = of("Ann", "phone")
    stranger = type(owner)(salon=other_salon, role="owner", username="x", display_name="x")
    stranger.save()

    with pytest.raises(services.ValueAlreadyChanged):
        services.correct_values(
            corrected={}, removed={value.pk}, versions={}, by=stranger, at=now
        )
    assert services.remove_alike(field="phone", text="k.A.", by=stranger, at=now) == 0
    assert ValueToCorrect.objects.count() == 4


def test_an_export_for_a_spreadsheet_starts_with_a_mark_and_reads_back(
    boss: Browser, salon: Salon
) -> None:
    boss.post("/clients/imports/", {"file": SimpleUploadedFile("x.csv", "name\nZoë".encode())})
    take_in(boss, ClientImport.objects.get())
    Client.objects.update(phone="+441174960101")

    for language, separator in (("en-gb", ","), ("de", ";")):
        answer = boss.post(
            "/clients/export.csv", {"for_spreadsheet": "1"},
            headers={"Accept-Language": language},
        )  # fmt: skip
        octets = answer.getvalue()
        assert octets.startswith(b"\xef\xbb\xbfname" + separator.encode())
        assert "+44 117 496 0101" in octets.decode()
        assert csv_file.read(octets).rows[0][0] == "Zoë"
