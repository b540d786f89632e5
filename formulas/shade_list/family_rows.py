"""A family of shades in words, as further rows of a list."""

import csv
import io

from django.utils.translation import gettext as _

from formulas.shade_list import reading, tone_words
from formulas.shade_list.tone_words import CLEAR, Named
from formulas.tone_names import name_of


def with_family(text: str, words: str) -> str:
    """Return a list with a row for each shade that `words` names, in its own columns."""
    named = tone_words.shades_in(words)
    if not text.strip():
        return "".join(f"{_written(shade)}\n" for shade in named)
    table, mapping = reading.table_of(text)
    column = {field: int(number) for number, field in mapping.items()}
    if "name" not in column:
        raise tone_words.NotInWords(
            _("The list has no column for names: add these by hand."), code="no_name_column"
        )
    written = io.StringIO(newline="")
    writer = csv.writer(written, delimiter=table.separator, lineterminator="\n")
    for shade in named:
        row = [""] * len(table.header)
        row[column["name"]] = _written(shade)
        writer.writerow(row)
    plain_lines = len(table.header) == 1
    rows = (
        "".join(f"{_written(shade)}\n" for shade in named)
        if plain_lines
        else written.getvalue()
    )
    return f"{text.rstrip()}\n{rows}"


def _written(named: Named) -> str:
    if named.level is None:
        return _("clear") if named.tone == CLEAR else named.tone
    return name_of(named.level, named.tone, named.body)
