"""How the letters, columns, dates and single values of an imported list are read."""

import datetime as dt

import pytest

from clients.people import csv_file, import_dates, import_headings, import_values
from salon import charset

TODAY = dt.date(2026, 3, 11)


@pytest.mark.parametrize(
    ("text", "encoding"),
    [
        ("Jürgen Weiß\nFrançois Lefèvre\n", "cp1252"),
        ("Żółkiewska Małgorzata\nBłażej Wąsik\n", "cp1250"),
        ("Коваленко Ольга\nИван Петров\n", "cp1251"),
        ("όνομα\nΓιώργος Παπαδόπουλος\nΕλένη\n", "cp1253"),
        ("田辺 さくら\n鈴木 一郎\n", "shift_jis"),
        ("Müller Jörg\nGöran Weiß\nFrançois\n", "mac_roman"),
        ("Göran\n", "utf-8"),
        ("plain\n", "utf-8"),
    ],
)
def test_the_letters_of_a_file_are_guessed(text: str, encoding: str) -> None:
    assert charset.guess(f"name\n{text}".encode(encoding)) == encoding


# -- separators, headings ----------------------------------------------------------------


@pytest.mark.parametrize("first", ["sep=;", '"sep=;"', "SEP=;"])
def test_a_line_that_names_the_separator_is_obeyed(first: str) -> None:
    table = csv_file.read(f"\ufeff{first}\r\nname,x;phone\r\nAnn;1\r\n".encode())

    assert (table.header, table.rows) == (["name,x", "phone"], [["Ann", "1"]])


def test_a_row_with_more_cells_than_the_header_keeps_them() -> None:
    table = csv_file.read(b"name;note\nAnn;tea;milk\nBo;\n")

    assert table.header == ["name", "note", ""]
    assert table.rows == [["Ann", "tea", "milk"], ["Bo", "", ""]]


@pytest.mark.parametrize(
    "header",
    [
        "Nachname;Vorname;Telefon;E-Mail;Geburtsdatum;Bemerkung",
        "Familienname;Vorname;Handy-Nr.;E-Mail-Adresse;Geb.-Datum;Notizen",
        "Surname;First name;Mobile phone;Email address;Date of birth;Comments",
        "Name;Vorname;Telefon 1;Mail;geb. am;Hinweis",
    ],
)
def test_headings_are_known_in_english_and_german(header: str) -> None:
    assert list(import_headings.guess(header.split(";")).values()) == [
        "name", "first_name", "phone", "email", "birth_date", "note",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("column", "order"),
    [
        (["03/04/1990", "25/12/1988"], "dmy"),
        (["03/04/1990", "12/25/1988"], "mdy"),
        (["03/04/1990", "7/3/1991"], "?"),
        (["12/25/1988", "25/12/1988"], "?"),
        (["12/25/1988"] + ["25/12/1988"] * 21, "dmy"),
        (["03.04.1990", "1990-04-03", "k.A.", ""], "dmy"),
        (["04/04/1990"], "dmy"),
    ],
)
def test_the_whole_column_tells_day_from_month(column: list[str], order: str) -> None:
    assert import_dates.order_of(column) == order


@pytest.mark.parametrize(
    ("text", "order", "born"),
    [
        ("1.4.68", "dmy", dt.date(1968, 4, 1)),
        ("7/3/1991", "mdy", dt.date(1991, 7, 3)),
        ("7/3/1991", "dmy", dt.date(1991, 3, 7)),
        ("07.03.1991", "mdy", dt.date(1991, 3, 7)),
        ("1991-07-03 00:00:00", "dmy", dt.date(1991, 7, 3)),
        ("03-Jul-91", "dmy", dt.date(1991, 7, 3)),
        ("3. März 1991", "dmy", dt.date(1991, 3, 3)),
        ("July 3, 1991", "dmy", dt.date(1991, 7, 3)),
        ("19910703", "dmy", dt.date(1991, 7, 3)),
    ],
)
def test_dates_are_read_as_they_are_written(text: str, order: str, born: dt.date) -> None:
    assert import_dates.read(text, order=order, today=TODAY) == born


@pytest.mark.parametrize(
    "text", ["31.02.1980", "12.03.2026", "1.1.1900", "7/3/1991", "1.4.15", "33422", "k.A."]
)
def test_no_birth_date_is_guessed(text: str) -> None:
    with pytest.raises(import_dates.NotADate):
        import_dates.read(text, order="?", today=TODAY)


@pytest.mark.parametrize(
    ("text", "number", "problem"),
    [
        ("0117 496 0101", "+441174960101", ""),
        ("Tel. 0117/496 0101", "+441174960101", ""),
        ("0117 496 0101 / 0117 496 0102", "+441174960101", "holds_more"),
        ("0117 496 0101 (Mum)", "+441174960101", "holds_more"),
        ("k.A.", "", "not_valid"),
        ("12", "", "not_valid"),
    ],
)
def test_a_phone_is_found_in_what_is_written(text: str, number: str, problem: str) -> None:
    assert import_values.phone(text) == (number, problem)


def test_of_two_addresses_the_first_is_taken_and_both_are_kept() -> None:
    assert import_values.email("a@example.com, b@example.com") == (
        "a@example.com", "holds_more",
    )  # fmt: skip
