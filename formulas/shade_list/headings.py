"""What the columns of a list of shades are called."""

import re
import unicodedata

from django.utils.translation import gettext_lazy as _

FIELDS = {
    "name": _("name, or level and tone in words"),
    "level": _("level"),
    "tone": _("tone in words"),
    "lightness": "L*",
    "green_red": "a*",
    "blue_yellow": "b*",
    "swatch": _("measured swatch (L*a*b* or spectrum)"),
    "light": _("light and observer of L*a*b*"),
    "tube_grams": _("grams in a tube"),
    "tube_price": _("price of a tube"),
    "allergens": _("allergen family"),
    "gtin": _("number under the bar code"),
    "tubes": _("tubes received"),
    "batch": _("batch"),
    "expires_on": _("best before"),
}
# How an exported list is headed; it is read again in the language that it was written in.
EXPORTED = {
    "name": _("Name"),
    "level": _("Level"),
    "tone": _("Tone"),
    "swatch": _("Swatch"),
    "tube_grams": _("Grams in a tube"),
    "tube_price": _("Price"),
    "allergens": _("Allergens"),
    "gtin": _("Bar code"),
}
_KNOWN = {
    "name": "name shade colour color shadename description bezeichnung nuance farbe farbton",
    "level": "level depth tonhohe hohe stufe",
    "tone": "tone reflect tonerichtung richtung reflex tonrichtung",
    "lightness": "l cielabl helligkeit lightness",
    "green_red": "a cielaba",
    "blue_yellow": "b cielabb",
    "swatch": "swatch spectrum measured lab cielab labspectrum spektrum messung messwert",
    "light": "light illuminant observer lichtart beobachter",
    "tube_grams": "size g grams gramm weight tube tubegrams content inhalt grosse gewicht",
    "tube_price": "price cost preis tubeprice pricetube eur euro ek einkaufspreis",
    "allergens": "allergen allergens allergenfamily dye dyes ppd allergene allergie farbstoff",
    "gtin": "gtin ean barcode upc strichcode code",
    "tubes": "tubes received stock quantity qty pieces tuben menge anzahl bestand stuck",
    "batch": "batch lot charge chargennummer batchnumber",
    "expires_on": "bestbefore expiry expires expirydate haltbar haltbarbis mhd ablauf",
}
_WAVELENGTH = re.compile(r"\D{0,3}(\d{3})(?:[.,]0+)?\s*(?:nm)?")


def guess(header: list[str]) -> dict[str, str]:
    """Return what each column (by its number, as text) probably means.

    Columns headed by wavelengths are no fields of their own: see `wavelengths`.
    """
    known = {word: name for name, words in _KNOWN.items() for word in words.split()}
    known |= {bare(str(title)): name for name, title in EXPORTED.items()}
    found: dict[str, str] = {}
    for number, title in enumerate(header):
        whole, *parts = bare(title), *map(bare, re.split(r"[\W_]+", title))
        meant = (known.get(word) for word in (whole, *parts) if word)
        field = next((name for name in meant if name and name not in found.values()), None)
        if field:
            found[str(number)] = field
    return found


def wavelengths(header: list[str]) -> dict[int, float]:
    """Return the wavelength that heads each column of a spectrum: "400", "R410", "420 nm"."""
    matches = {n: _WAVELENGTH.fullmatch(title.strip()) for n, title in enumerate(header)}
    found = {n: float(match[1]) for n, match in matches.items() if match}
    return found if len(found) >= 10 else {}


def bare(title: str) -> str:
    """Return a heading without case, accents, units and signs."""
    plain = unicodedata.normalize("NFKD", title.casefold())
    return re.sub(r"[\W_]+", "", "".join(c for c in plain if not unicodedata.combining(c)))
