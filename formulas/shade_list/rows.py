"""Rows of a list as shades: what each would become, or why it cannot be read."""

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TypedDict

from django.utils.translation import gettext as _

from formulas import refusals
from formulas.shade_list import bar_codes, cells, tone_words
from formulas.shade_list.headings import FIELDS, wavelengths
from formulas.shade_list.tone_words import CLEAR, Named, NotInWords
from formulas.swatch_text import check_swatch, read_swatch
from formulas.tone_names import name_of, pigments_of
from salon.refusals import Refused
from salon.table_file import Table, plain

MOST_SHADES = 400
# What L*a*b* must be measured for: what the engine counts in.
_LIGHT, _OBSERVER = "d65", "10"


class OwnFields(TypedDict):
    """What a row says of one shade."""

    name: str
    level: Decimal | None
    tones: dict[str, float]
    reflectance: list[float] | None


class TubeFields(TypedDict):
    """What a row says of the tubes of all its shades."""

    tube_grams: Decimal
    tube_price: Decimal
    allergens: str
    gtin: str


class ShadeFields(OwnFields, TubeFields):
    """The fields of a `Shade`."""


@dataclass(frozen=True)
class ListedShade:
    """A row, or one shade of a row that names a family."""

    row: int
    name: str
    fields: ShadeFields | None = None
    tubes: Decimal | None = None
    batch: str = ""
    expires_on: dt.date | None = None
    problem: str = ""
    is_known: bool = False

    @property
    def given(self) -> ShadeFields:
        """The fields of a row that could be read."""
        if self.fields is None:
            raise ValueError(self.problem)
        return self.fields

    @property
    def can_be_added(self) -> bool:
        """Whether it is read, and not in the line already."""
        return not self.problem and not self.is_known

    @property
    def received_grams(self) -> Decimal | None:
        """What its tubes weigh; None where no tube came."""
        return round(self.tubes * self.given["tube_grams"], 1) if self.tubes else None


@dataclass(frozen=True)
class Usual:
    """What a row that does not give it has: size and price of a tube."""

    tube_grams: Decimal
    tube_price: Decimal


def listed_shades(
    table: Table, *, mapping: Mapping[str, str], usual: Usual, known_names: Iterable[str]
) -> list[ListedShade]:
    """Return every row as what it would become, in the order of the list."""
    bands, seen = wavelengths(table.header), {name.casefold() for name in known_names}
    found: list[ListedShade] = []
    in_list: set[str] = set()
    for number, row in enumerate(table.rows, start=first_row(table)):
        for shade in _shades_of(number, row, mapping, bands, usual):
            name = shade.name.casefold()
            if shade.problem:
                found.append(shade)
            elif name in in_list:
                twice = _("The list has this name twice.")
                found.append(ListedShade(number, shade.name, shade.fields, problem=twice))
            else:
                in_list.add(name)
                known = ListedShade(number, shade.name, shade.fields, is_known=True)
                found.append(known if name in seen else shade)
    return found


def first_row(table: Table) -> int:
    """Return which row of its sheet the first shade is in: below the headings, if any."""
    return 2 if any(table.header) else 1


def _shades_of(
    number: int,
    row: Sequence[str],
    mapping: Mapping[str, str],
    bands: Mapping[int, float],
    usual: Usual,
) -> list[ListedShade]:
    values = dict.fromkeys(FIELDS, "")
    for column, name in mapping.items():
        if name in values and int(column) < len(row):
            values[name] = " ".join(plain(row[int(column)]).split())
    spectrum = "\n".join(
        f"{nm:g} {row[n].strip()}" for n, nm in bands.items() if row[n].strip()
    )
    try:
        common = _common(values, usual)
        shades = _measured(values, spectrum) or _in_words(values)
        return [
            ListedShade(
                number, shade["name"], {**shade, **common},
                tubes=cells.number(
                    values["tubes"], name=_("Tubes"), low=Decimal(0), high=Decimal(999),
                ),
                batch=values["batch"][:40],
                expires_on=cells.date(values["expires_on"]),
            )
            for shade in shades
        ]  # fmt: skip
    except (ValueError, Refused) as error:
        name = values["name"] or " ".join((values["level"], values["tone"])).strip()
        return [ListedShade(number, name[:60], problem=refusals.in_words(error))]


def _common(values: Mapping[str, str], usual: Usual) -> TubeFields:
    grams = cells.number(
        values["tube_grams"], name=_("Grams in a tube"), low=Decimal(1), high=Decimal(5000)
    )
    price = cells.number(
        values["tube_price"], name=_("Price"), low=Decimal(0), high=Decimal(9999), decimals=2
    )
    return {
        "tube_grams": usual.tube_grams if grams is None else grams,
        "tube_price": usual.tube_price if price is None else price,
        "allergens": values["allergens"][:120],
        "gtin": bar_codes.read(values["gtin"]) if values["gtin"] else "",
    }


def _measured(values: Mapping[str, str], spectrum: str) -> list[OwnFields]:
    """Return the one shade of a row with a measurement; nothing where it has none."""
    lab = [values[key] for key in ("lightness", "green_red", "blue_yellow")]
    text = spectrum or values["swatch"] or (" ".join(_joined(lab)) if any(lab) else "")
    if not text:
        return []
    if not spectrum:
        _check_light(values["light"])
    level = _level(values)
    reflectance = read_swatch(text)
    check_swatch(reflectance, level=level)
    if not values["name"]:
        raise NotInWords(_("A measured shade needs a name."), code="no_name")
    name = values["name"][:60]
    return [{"name": name, "level": level, "tones": {}, "reflectance": reflectance}]


def _joined(numbers: Iterable[str]) -> list[str]:
    return [text.replace(",", ".") or "?" for text in numbers]


def _check_light(text: str) -> None:
    """Refuse L*a*b* that is not for daylight and the 10-degree observer, where it is named."""
    bare = text.casefold().replace(" ", "")
    if bare and (_LIGHT not in bare or _OBSERVER not in bare.replace(_LIGHT, "")):
        raise NotInWords(
            _(
                "L*a*b* for %(light)s cannot be used. Export the spectrum, or L*a*b* for D65 "
                "and 10 degrees."
            ),
            code="light",
            light=text[:20],
        )


def _level(values: Mapping[str, str]) -> Decimal:
    """Return the one level of a measured shade: its own cell, else the name begins with it."""
    levels, _rest = tone_words.level_and_rest(values["level"] or values["name"])
    if len(levels) != 1:
        raise NotInWords(_("Enter the level on the label."), code="no_level")
    return levels[0]


def _in_words(values: Mapping[str, str]) -> list[OwnFields]:
    """Return the shades of a row in words; a free name stays beside level and tone."""
    level, tone, name = values["level"], values["tone"], values["name"]
    if tone:
        named = tone_words.family(level or name, tone)
    elif level:
        named = tone_words.family(level, name.removeprefix(level).strip())
    else:
        named = tone_words.shades_in(name)
        name = ""
    own = name if tone and len(named) == 1 else ""
    return [_fields(shade, own) for shade in named]


def _fields(named: Named, own_name: str) -> OwnFields:
    if named.tone == CLEAR or named.level is None:
        name = own_name[:60] or _("clear")
        return {"name": name, "level": None, "tones": {}, "reflectance": None}
    return {
        "name": own_name[:60] or name_of(named.level, named.tone, named.body),
        "level": named.level,
        "tones": pigments_of(named.tone, named.body),
        "reflectance": None,
    }
