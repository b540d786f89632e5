"""A pasted or loaded list of shades as a table; CxF3 becomes rows like any other."""

from django.utils.translation import gettext as _

from formulas.shade_list import cxf, headings
from salon import charset
from salon.table_file import Table, Unreadable, decoded, is_broken, rows_of, shown

MOST_OCTETS = 4 * 1024 * 1024
# What a list without headings has in its columns, one after the other.
_WITHOUT_HEADINGS = ("name", "tube_price", "tube_grams")


def text_of(content: bytes, *, encoding: str = "") -> str:
    """Return a file as text to be looked at and corrected: CxF3 as rows, else as it is."""
    if cxf.is_cxf(content):
        return cxf.as_rows(content)
    text = decoded(content, encoding or charset.guess(content))
    if is_broken(text):
        text = shown(text)
    return text.replace("\r\n", "\n").replace("\r", "\n")


def table_of(text: str) -> tuple[Table, dict[str, str]]:
    """Return a list as a table with what its columns probably mean.

    A first row in which no heading is known is a row: "8 violet" pasted alone. Without tabs
    or semicolons such a list is words, a line for each: "8 to 10, violet and pearl".
    """
    lines = [line.strip() for line in text.splitlines() if line.strip()]
    if lines and _looks_like_a_shade([lines[0]]) and not set("\t;|") & set(lines[0]):
        return Table([""], [[line] for line in lines], set()), {"0": "name"}
    header, rows, separator = rows_of(text)
    mapping = headings.guess(header)
    if not (set(mapping.values()) & {"name", "level", "swatch"}) or _looks_like_a_shade(header):
        rows = [header, *rows]
        mapping = dict(zip(map(str, range(len(header))), _WITHOUT_HEADINGS, strict=False))
        header = ["" for _cell in header]
    if not rows:
        raise Unreadable(_("There are no rows below the header."), code="no_rows")
    return Table(header, rows, set(), separator=separator), mapping


def _looks_like_a_shade(header: list[str]) -> bool:
    return header[0][:1].isdigit() and not headings.wavelengths(header)
