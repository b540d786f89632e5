"""Comma-separated values (RFC 4180): written so that no spreadsheet runs a cell, and read."""

import csv
import io
import re
from collections.abc import Iterable, Iterator, Sequence

import phonenumbers
from django.utils.formats import get_format
from django.utils.translation import gettext as _

from clients.models import Client
from clients.people import vcard
from salon import charset
from salon.table_file import (
    DANGEROUS,
    Table,
    Unreadable,
    decoded,
    is_broken,
    plain,
    rows_of,
    shown,
)

__all__ = ["Table", "Unreadable", "export", "plain", "read", "report", "safe"]

MOST_OCTETS = 25 * 1024 * 1024
MOST_ROWS = 60_000
COLUMNS = ["name", "known_as", "phone", "email", "birth_date", "note"]
# Digits in groups are text to a spreadsheet; one long number after a plus would be a sum.
_READABLE_PHONE = re.compile(r"\+\d+( \d+)+")


def safe(cell: str) -> str:
    """Return a cell that a spreadsheet takes for text."""
    if _READABLE_PHONE.fullmatch(cell):
        return cell
    return f"'{cell}" if cell.startswith(DANGEROUS) else cell


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
        raise Unreadable(_("The file is larger than 25 MB."), code="too_large")
    encoding = encoding or charset.guess(content)
    text = decoded(content, encoding)
    separator = ","
    if text.lstrip().upper().startswith("BEGIN:VCARD"):
        header, rows = list(vcard.HEADER), vcard.read(text)
    else:
        header, rows, separator = rows_of(text)
    if not rows:
        raise Unreadable(_("There are no rows below the header."), code="no_rows")
    if len(rows) > MOST_ROWS:
        raise Unreadable(
            _("More than %(n)d rows: split the file."), code="too_many_rows", n=MOST_ROWS
        )
    broken = {n for n, row in enumerate(rows) if any(map(is_broken, row))}
    clean = [[shown(cell) for cell in row] for row in rows]
    return Table([shown(cell) for cell in header], clean, broken, encoding, separator)
