"""What a list of shades would become: every row with its colour, or why it cannot be read."""

import csv
import hashlib
import io
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from formulas.models import ProductLine, Shade
from formulas.screen_colours import colours_in_order
from formulas.shade_list.headings import EXPORTED
from formulas.shade_list.rows import MOST_SHADES, ListedShade, Usual, first_row, listed_shades
from formulas.tone_names import words_for, words_of
from salon.table_file import Table

_LONGEST_SAMPLE = 40


@dataclass(frozen=True)
class Preview:
    """The rows of a list with their screen colours; none for a row that cannot be read."""

    table: Table
    rows: Sequence[tuple[ListedShade, str]]

    @property
    def to_add(self) -> list[ListedShade]:
        """The shades that would be added."""
        return [shade for shade, _hex in self.rows if shade.can_be_added]

    @property
    def known(self) -> list[ListedShade]:
        """Those that the line has already."""
        return [shade for shade, _hex in self.rows if shade.is_known]

    @property
    def refused(self) -> list[ListedShade]:
        """Rows that cannot be read."""
        return [shade for shade, _hex in self.rows if shade.problem]

    @property
    def is_too_long(self) -> bool:
        """Whether the list names more shades than are taken at once."""
        return len(self.rows) > MOST_SHADES

    @property
    def can_be_taken(self) -> bool:
        """Whether there is something to add, and not too much."""
        return bool(self.to_add) and not self.is_too_long

    def text_of_refused(self) -> str:
        """Return the rows that cannot be read as a list of their own."""
        wanted = {shade.row for shade in self.refused}
        rows = [
            row
            for n, row in enumerate(self.table.rows, start=first_row(self.table))
            if n in wanted
        ]
        if not any(self.table.header) and len(self.table.header) == 1:
            return "\n".join(row[0] for row in rows)
        written = io.StringIO(newline="")
        writer = csv.writer(written, delimiter=self.table.separator, lineterminator="\n")
        if any(self.table.header):
            writer.writerow(self.table.header)
        writer.writerows(rows)
        return written.getvalue()


def preview(
    table: Table, *, mapping: Mapping[str, str], line: ProductLine, usual: Usual
) -> Preview:
    """Return what the list would become; two queries."""
    names = line.shades.values_list("name", flat=True)
    found = listed_shades(table, mapping=mapping, usual=usual, known_names=names)
    found = found[: MOST_SHADES + 1]
    readable = [shade for shade in found if not shade.problem]
    shades = [Shade(line=line, **shade.given) for shade in readable]
    colours = dict(
        zip(map(id, readable), colours_in_order(shades, salon=line.salon), strict=True)
    )
    return Preview(table, [(shade, colours.get(id(shade), "")) for shade in found])


def header_key(table: Table) -> str:
    """Return a mark of the headings: what columns mean is asked again where they differ."""
    return hashlib.sha256("\t".join(table.header).encode()).hexdigest()[:16]


def samples(table: Table) -> list[str]:
    """Return a few cells of each column, to tell by what it holds what it means."""
    found: list[list[str]] = [[] for _title in table.header]
    for row in table.rows[:50]:
        for column, cell in zip(found, row, strict=True):
            text = " ".join(cell.split())[:_LONGEST_SAMPLE]
            if text and len(column) < 3 and text not in column:
                column.append(text)
    return [" · ".join(column) for column in found]


def as_table(shades: Iterable[Shade]) -> tuple[list[str], list[list[str]]]:
    """Return shades with the headings that a list is read by; they carry `grams`."""
    header = [*map(str, EXPORTED.values()), _("In stock, g"), _("In use")]
    return header, [_cells(shade) for shade in shades]


def _cells(shade: Shade) -> list[str]:
    words = words_of(shade.tones) if shade.level is not None else None
    tone = words_for(*words) if words and not shade.reflectance else ""
    swatch = " ".join(f"{value:g}" for value in shade.reflectance or ())
    return [
        shade.name,
        "" if shade.level is None else f"{shade.level:g}",
        tone if shade.level is not None else _("clear"),
        swatch,
        f"{shade.tube_grams:.1f}",
        f"{shade.tube_price:.2f}" if shade.tube_price else "",
        shade.allergens,
        shade.gtin,
        f"{shade.grams:.1f}",  # type: ignore[attr-defined]
        _("yes") if shade.is_active else _("no"),
    ]
