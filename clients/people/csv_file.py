"""Comma-separated values (RFC 4180): written so that no spreadsheet runs a cell, and read."""

import csv
import io
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import phonenumbers
from django.utils.formats import get_format
from django.utils.translation import gettext as _

from clients.models import Client
from clients.people import charset, vcard

MOST_OCTETS = 25 * 1024 * 1024
MOST_ROWS = 60_000
MOST_COLUMNS = 100
COLUMNS = ["name", "known_as", "phone", "email", "birth_date", "note"]
_DANGEROUS = ("=", "+", "-", "@", "\t", "\r")
_SEPARATORS = ",;\t|"
# A first line that some spreadsheets write, and obey, before the header.
_SEPARATOR_LINE = re.compile(r'"?sep=([|,;\t])"?[ \t]*(?:\r\n|\r|\n)', re.I)
# Digits in groups are text to a spreadsheet; one long number after a plus would be a sum.
_READABLE_PHONE = re.compile(r"\+\d+( \d+)+")


class Unreadable(Exception):
    """Raised where a file is no list of clients."""


@dataclass(frozen=True)
class Table:
    """A file as read: a header, rows, and the numbers of rows with broken letters."""

    header: list[str]
    rows: list[list[str]]
    broken: set[int]
    encoding: str = charset.UTF_8
    separator: str = ","


def safe(cell: str) -> str:
    """Return a cell that a spreadsheet takes for text."""
    if _READABLE_PHONE.fullmatch(cell):
        return cell
    return f"'{cell}" if cell.startswith(_DANGEROUS) else cell


def plain(cell: str) -> str:
    """Return a cell without the guard that `safe` puts before it."""
    cell = cell.strip()
    return cell[1:] if cell.startswith("'") and cell[1:].startswith(_DANGEROUS) else cell


def readable_phone(client: Client) -> str:
    """Return a phone number in groups, as it is written abroad: +44 117 496 0101."""
    if not client.phone:
        return ""
    number = phonenumbers.parse(str(client.phone))
    style = phonenumbers.PhoneNumberFormat.INTERNATIONAL
    return "+" + " ".join(re.findall(r"\d+", phonenumbers.format_number(number, style)))


def export(clients: Iterable[Client], *, for_spreadsheet: bool = False) -> Iterator[bytes]:
    """Yield the list row by row, UTF-8 with CRLF.

    For a spreadsheet it starts with a byte-order mark, without which accents are read wrong,
    and has semicolons where a comma is what numbers are written with.
    """
    if for_spreadsheet:
        yield b"\xef\xbb\xbf"
    separator = spreadsheet_separator() if for_spreadsheet else ","
    yield _line(COLUMNS, separator)
    for client in clients:
        cells = (
            client.name,
            client.known_as,
            readable_phone(client),
            client.email,
            client.birth_date.isoformat() if client.birth_date else "",
            client.note,
        )
        yield _line(cells, separator)


def spreadsheet_separator() -> str:
    """Return what a spreadsheet in the reader's language expects between two cells."""
    return ";" if get_format("DECIMAL_SEPARATOR") == "," else ","


def report(
    header: Sequence[str], refused: Iterable[Sequence[str]], *, separator: str
) -> Iterator[bytes]:
    """Yield the refused rows as the file has them, with the reason in a last column.

    Corrected, it can be sent again: it is read like any list, and the column of reasons is
    written afresh. Rows of an old import have lost their cells and have only a reason.
    """
    reason_title = _("Reason")
    width = len(header) - (list(header[-1:]) == [reason_title])
    yield b"\xef\xbb\xbf" + _line([*header[:width], reason_title], separator)
    for _number, reason, *rest in refused:
        cells = list(rest[0]) if rest else []
        padded = (cells + [""] * width)[:width]
        yield _line([*padded, reason], separator)


def _line(cells: Iterable[str], separator: str) -> bytes:
    text = io.StringIO(newline="")
    writer = csv.writer(text, delimiter=separator, lineterminator="\r\n")
    writer.writerow([safe(cell) for cell in cells])
    return text.getvalue().encode()


def read(content: bytes, *, encoding: str = "") -> Table:
    """Return a file as a table: CSV with any usual separator, or vCards.

    Without an encoding it is guessed. Rows whose letters cannot be read in it are named in
    `broken` and never guessed at.
    """
    if len(content) > MOST_OCTETS:
        raise Unreadable(_("The file is larger than 25 MB."))
    encoding = encoding or charset.guess(content)
    text = _decoded(content, encoding)
    separator = ","
    if text.lstrip().upper().startswith("BEGIN:VCARD"):
        header, rows = list(vcard.HEADER), vcard.read(text)
    else:
        header, rows, separator = _rows(text)
    if not rows:
        raise Unreadable(_("There are no rows below the header."))
    if len(rows) > MOST_ROWS:
        raise Unreadable(_("More than %(n)d rows: split the file.") % {"n": MOST_ROWS})
    broken = {n for n, row in enumerate(rows) if any(map(_is_broken, row))}
    clean = [[_shown(cell) for cell in row] for row in rows]
    return Table([_shown(cell) for cell in header], clean, broken, encoding, separator)


def _decoded(content: bytes, encoding: str) -> str:
    try:
        return charset.decode(content, encoding)
    except (UnicodeDecodeError, LookupError) as error:
        raise Unreadable(_("The characters of this file cannot be read.")) from error


def _rows(text: str) -> tuple[list[str], list[list[str]], str]:
    text = text.replace("\x00", "")
    separator, text = _separator_of(text)
    try:
        reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator)
        table = [row for row in reader if any(cell.strip() for cell in row)]
    except csv.Error as error:
        raise Unreadable(_("This is not a list with separators.")) from error
    if not table:
        raise Unreadable(_("The file is empty."))
    # A row with more cells than the header keeps them: their column can be looked at.
    width = max(*map(_last_filled, table), 1)
    if width > MOST_COLUMNS:
        raise Unreadable(_("This is not a list with separators."))
    padded = [(row + [""] * width)[:width] for row in table]
    return [cell.strip()[:60] for cell in padded[0]], padded[1:], separator


def _separator_of(text: str) -> tuple[str, str]:
    """Return the separator, and the text without a line that only names it."""
    if found := _SEPARATOR_LINE.match(text):
        return found[1], text[found.end() :]
    first = re.split(r"[\r\n]", text.lstrip("\r\n"), maxsplit=1)[0]
    separator = max(_SEPARATORS, key=first.count)
    # A header of one column: a comma further down belongs to a name ("Lee, Ann").
    return (separator if separator in first else "\t"), text


def _last_filled(row: list[str]) -> int:
    return max((n for n, cell in enumerate(row, start=1) if cell.strip()), default=0)


def _is_broken(cell: str) -> bool:
    return any("\ud800" <= letter <= "\udfff" for letter in cell)


def _shown(cell: str) -> str:
    """Return a cell that any database keeps: broken letters become the sign for one."""
    return "".join("\ufffd" if "\ud800" <= c <= "\udfff" else c for c in cell)
