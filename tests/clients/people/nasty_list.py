"""A client list as an old till might hand it over, the same for the same seed.

Semicolons, cp1252, German headings, dd.mm.yyyy; "k.A." and worse where a value is missing.
Numbers are of ranges that phonenumbers counts as valid; everybody is invented.
"""

import random
from dataclasses import dataclass

HEADER = "Nachname;Vorname;Telefon;E-Mail;Geburtsdatum;Bemerkung"
_FIRST = [
    *("Jürgen", "Änne", "Zoë", "Björn", "Søren", "François", "José", "Grete", "Käthe"),
    *("Öznur", "Uwe", "Ingeborg", "Nuño", "Maël"),
]
_LAST = [
    *("Müller", "Weiß", "Groß", "Lefèvre", "Nuñez", "Kjær", "Böhm", "Strauß"),
    *("Häußler", "Österle", "Schäfer", "Köhler"),
]
_NO_PHONE = ["k.A.", "k.A.", "-", "unbekannt", "?", "0171", "ruft selbst an"]
_NO_EMAIL = ["keine", "k.A.", "name at example.com", "@", "muster@"]
_NO_DATE = ["31.02.1980", "k.A.", "1975", "00.00.0000", "Ende Mai"]
_NOTES = ["", "", "mag Tee", '"nur, wenn Grete Zeit hat"', '"zwei\nZeilen"', "=1+1"]


@dataclass(frozen=True)
class NastyList:
    """The file, and how many of its rows have a name."""

    content: bytes
    rows: int
    named: int


def nasty_list(*, rows: int = 2000, seed: int = 20) -> NastyList:
    """Return a list in which a third of the phones and more is no value."""
    chance = random.Random(seed)  # noqa: S311  a made-up list, no secret
    lines, named = [HEADER], 0
    for number in range(rows):
        first, last = chance.choice(_FIRST), f"{chance.choice(_LAST)}-{number:04d}"
        if chance.random() < 0.01:
            first = last = ""
        named += bool(last)
        phone = f"0171 {3000000 + number}"
        if chance.random() < 0.34:
            phone = chance.choice(_NO_PHONE)
        elif chance.random() < 0.03:
            phone = "0171 3000000"  # a family shares one
        email = f"gast{number}@example.com" if chance.random() < 0.6 else ""
        if chance.random() < 0.13:
            email = chance.choice(_NO_EMAIL)
        day, month = chance.randint(1, 28), chance.randint(1, 12)
        born = f"{day:02d}.{month:02d}.{chance.randint(1940, 2008)}"
        if chance.random() < 0.03:
            born = chance.choice(_NO_DATE)
        cells = [last, first, phone, email, born, chance.choice(_NOTES)]
        lines.append(";".join(cells))
        if named and last and chance.random() < 0.01:  # the same row twice
            lines.append(";".join(cells))
            named += 1
    return NastyList("\r\n".join(lines).encode("cp1252"), len(lines) - 1, named)
