"""Tables as CSV (RFC 4180) that no spreadsheet runs a cell of."""

import csv
import io
from collections.abc import Iterable, Sequence

from django.http import HttpResponse

_DANGEROUS = ("=", "+", "-", "@", "\t", "\r")


def text_cell(words: str) -> str:
    """Return words that a spreadsheet takes for text."""
    return f"'{words}" if words.startswith(_DANGEROUS) and not _is_number(words) else words


def table_response(
    name: str, header: Sequence[str], rows: Iterable[Sequence[str]]
) -> HttpResponse:
    """Return a download with a header; numbers come with a point, as files carry them."""
    written = io.StringIO()
    writer = csv.writer(written, lineterminator="\r\n")
    writer.writerow([text_cell(str(cell)) for cell in header])
    writer.writerows([text_cell(str(cell)) for cell in row] for row in rows)
    # The mark of UTF-8 at the start: without it spreadsheets guess, and guess wrong.
    content = ("\ufeff" + written.getvalue()).encode()
    response = HttpResponse(content, content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    return response


def _is_number(words: str) -> bool:
    try:
        float(words)
    except ValueError:
        return False
    return True
