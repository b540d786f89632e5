"""Comma-separated values (RFC 4180): written so that no spreadsheet runs a cell, and read."""

import csv
import io
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from django.utils.translation import gettext as _

from clients.models import Client
from clients.people import vcard

MOST_OCTETS = 25 * 1024 * 1024
MOST_ROWS = 60_000
_DANGEROUS = ("=", "+", "-", "@", "\t", "\r")
COLUMNS = ["name", "known_as", "phone", "email", "birth_date", "note"]


class Unreadable(Exception):
    """Raised where a file is no list of clients."""


@dataclass(frozen=True)
class Table:
    """A file as read: a header, rows, and the numbers of rows with broken letters."""

    header: list[str]
    rows: list[list[str]]
    broken: set[int]


def safe(cell: str) -> str:
    """Return a cell that a spreadsheet takes for text; phone numbers start with +."""
    return f"'{cell}" if cell.startswith(_DANGEROUS) else cell


def plain(cell: str) -> str:
    """Return a cell without the guard that `safe` puts before it."""
    cell = cell.strip()
    return cell[1:] if cell.startswith("'") and cell[1:].startswith(_DANGEROUS) else cell


def export(clients: Iterable[Client]) -> Iterator[bytes]:
    """Yield the list row by row, UTF-8 with CRLF."""

    class Echo:
        def write(self, text: str) -> str:
            return text

    writer = csv.writer(Echo(), lineterminator="\r\n")
    yield str(writer.writerow(COLUMNS)).encode()
    for client in clients:
        cells = (
            client.name,
            client.known_as,
            str(client.phone or ""),
            client.email,
            client.birth_date.isoformat() if client.birth_date else "",
            client.note,
        )
        yield str(writer.writerow([safe(cell) for cell in cells])).encode()


def read(content: bytes, *, encoding: str = "") -> Table:
    """Return a file as a table: CSV with any usual separator, or vCards.

    Without an encoding UTF-8 is taken (or what a byte-order mark says). Rows whose letters
    cannot be read are named in `broken` and never guessed at.
    """
    if len(content) > MOST_OCTETS:
        raise Unreadable(_("The file is larger than 25 MB."))
    text = _decoded(content, encoding)
    if text.lstrip().upper().startswith("BEGIN:VCARD"):
        header, rows = list(vcard.HEADER), vcard.read(text)
    else:
        header, rows = _rows(text)
    if not rows:
        raise Unreadable(_("There are no rows below the header."))
    if len(rows) > MOST_ROWS:
        raise Unreadable(_("More than %(n)d rows: split the file.") % {"n": MOST_ROWS})
    broken = {n for n, row in enumerate(rows) if any(map(_is_broken, row))}
    clean = [[_shown(cell) for cell in row] for row in rows]
    return Table([_shown(cell) for cell in header], clean, broken)


def _decoded(content: bytes, encoding: str) -> str:
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        encoding = "utf-16"
    try:
        return content.decode(encoding or "utf-8-sig", errors="surrogateescape")
    except (UnicodeDecodeError, LookupError) as error:
        raise Unreadable(_("The letters of this file cannot be read.")) from error


def _rows(text: str) -> tuple[list[str], list[list[str]]]:
    first = text.split("\n", 1)[0]
    separator = max(",;\t", key=first.count)
    try:
        reader = csv.reader(
            io.StringIO(text.replace("\x00", ""), newline=""), delimiter=separator
        )
        table = [row for row in reader if any(cell.strip() for cell in row)]
    except csv.Error as error:
        raise Unreadable(_("This is no list with separators.")) from error
    if not table:
        raise Unreadable(_("The file is empty."))
    header = [cell.strip()[:60] for cell in table[0]]
    width = len(header)
    return header, [(row + [""] * width)[:width] for row in table[1:]]


def _is_broken(cell: str) -> bool:
    return any("\ud800" <= letter <= "\udfff" for letter in cell)


def _shown(cell: str) -> str:
    """Return a cell that any database keeps: broken letters become the sign for one."""
    return "".join("\ufffd" if "\ud800" <= c <= "\udfff" else c for c in cell)[:400]


def report(refused: Iterable[tuple[int, str]]) -> Iterator[bytes]:
    """Yield refused rows with their number in the file and the reason."""
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(["row", "reason"])
    writer.writerows((number, safe(reason)) for number, reason in refused)
    yield text.getvalue().encode()
