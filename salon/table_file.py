"""Tables out of files and pasted text (RFC 4180 and what spreadsheets make of it), read."""

import csv
import io
import re
from dataclasses import dataclass

from django.utils.translation import gettext as _

from salon import charset
from salon.refusals import Refused

MOST_COLUMNS = 100
DANGEROUS = ("=", "+", "-", "@", "\t", "\r")
_SEPARATORS = ",;\t|"
# A first line that some spreadsheets write, and obey, before the header.
_SEPARATOR_LINE = re.compile(r'"?sep=([|,;\t])"?[ \t]*(?:\r\n|\r|\n)', re.IGNORECASE)


class Unreadable(Refused):
    """Raised where a file is no table."""


@dataclass(frozen=True)
class Table:
    """A file as read: a header, rows, and the numbers of rows with broken letters."""

    header: list[str]
    rows: list[list[str]]
    broken: set[int]
    encoding: str = charset.UTF_8
    separator: str = ","


def plain(cell: str) -> str:
    """Return a cell without the guard that a guarded export puts before it."""
    cell = cell.strip()
    return cell[1:] if cell.startswith("'") and cell[1:].startswith(DANGEROUS) else cell


def decoded(content: bytes, encoding: str) -> str:
    """Return a file's text in this encoding."""
    try:
        return charset.decode(content, encoding)
    except (UnicodeDecodeError, LookupError) as error:
        raise Unreadable(
            _("The characters of this file cannot be read."), code="unknown_characters"
        ) from error


def rows_of(text: str) -> tuple[list[str], list[list[str]], str]:
    """Return the header, the rows below it, all of one width, and the separator."""
    text = text.replace("\x00", "")
    separator, text = _separator_of(text)
    try:
        reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator)
        table = [row for row in reader if any(cell.strip() for cell in row)]
    except csv.Error as error:
        raise Unreadable(
            _("This is not a list with separators."), code="no_separators"
        ) from error
    if not table:
        raise Unreadable(_("The file is empty."), code="empty")
    # A row with more cells than the header keeps them: their column can be looked at.
    width = max(*map(_last_filled, table), 1)
    if width > MOST_COLUMNS:
        raise Unreadable(_("This is not a list with separators."), code="no_separators")
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


def is_broken(cell: str) -> bool:
    """Return whether a cell has letters that its encoding does not know."""
    return any("\ud800" <= letter <= "\udfff" for letter in cell)


def shown(cell: str) -> str:
    """Return a cell that any database keeps: broken letters become the sign for one."""
    return "".join("\ufffd" if "\ud800" <= c <= "\udfff" else c for c in cell)
