"""Tables as CSV (RFC 4180) that no spreadsheet runs a cell of."""

import csv
import io
from collections.abc import Iterable, Sequence
from typing import IO

from django.http import HttpResponse

_DANGEROUS = ("=", "+", "-", "@", "\t", "\r")


def text_cell(words: str) -> str:
    """Return words that a spreadsheet takes for text."""
    return f"'{words}" if words.startswith(_DANGEROUS) and not _is_number(words) else words


def table_response(
    name: str, header: Sequence[str], rows: Iterable[Sequence[str]]
) -> HttpResponse:
    """Return a download with a header; numbers come with a point, as files carry them."""
    written = io.BytesIO()
    write_table(written, header, rows)
    response = HttpResponse(written.getvalue(), content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    return response


def write_table(out: IO[bytes], header: Sequence[str], rows: Iterable[Sequence[str]]) -> None:
    """Write a table row by row; its rows need not be in memory together."""
    # The mark of UTF-8 at the start: without it spreadsheets guess, and guess wrong.
    out.write(b"\xef\xbb\xbf")
    out.write(_line(header))
    for row in rows:
        out.write(_line(row))


def _line(cells: Sequence[str]) -> bytes:
    written = io.StringIO()
    csv.writer(written, lineterminator="\r\n").writerow(
        [text_cell(str(cell)) for cell in cells]
    )
    return written.getvalue().encode()


def _is_number(words: str) -> bool:
    try:
        float(words)
    except ValueError:
        return False
    return True
