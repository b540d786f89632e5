"""Colour exchange format, CxF3 (ISO 17972-1:2015): measured colours out of its XML.

Read are an object's name and its reflectance spectrum, else its CIELAB values with the light
and observer that they were computed for. A file with a document type is refused: it could
name entities that grow without end or lie elsewhere, and CxF3 has none.
"""

import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass
from xml.etree import ElementTree
from xml.parsers import expat

from django.utils.translation import gettext as _

from salon.table_file import Unreadable

_NAMESPACE = "{http://colorexchangeformat.com/CxF3-core}"
_HEADER = ("Name", "Level", "Swatch", "Light")
_DEFAULT_STEP_NM = 10.0  # of WavelengthRange, where a file does not say


@dataclass(frozen=True)
class Specification:
    """What a file says of how colours were measured or computed."""

    light: str = ""
    start_nm: float | None = None
    step_nm: float = _DEFAULT_STEP_NM


def is_cxf(content: bytes) -> bool:
    """Return whether a file is CxF3, by its root element's namespace."""
    return b"colorexchangeformat.com/CxF3-core" in content[:4096]


def as_rows(content: bytes) -> str:
    """Return the colours of a file as rows with tabs, to be looked at before they count."""
    root = _parsed(content)
    specifications = _specifications(root)
    written = io.StringIO(newline="")
    writer = csv.writer(written, delimiter="\t", lineterminator="\n")
    writer.writerow(_HEADER)
    rows = list(_rows(root, specifications))
    if not rows:
        raise Unreadable(
            _("This CxF file has no spectrum and no L*a*b* of any colour."), code="no_colours"
        )
    writer.writerows(rows)
    return written.getvalue()


def _parsed(content: bytes) -> ElementTree.Element:
    def refuse(*_given: object) -> None:
        raise Unreadable(
            _("This file has a document type, which CxF does not have."), code="document_type"
        )

    # The check runs in a parser of its own: ElementTree's cannot be asked.
    check = expat.ParserCreate()
    check.StartDoctypeDeclHandler = refuse
    try:
        check.Parse(content, True)
        return ElementTree.fromstring(content)  # noqa: S314 - no document type, no entity
    except (expat.ExpatError, ElementTree.ParseError) as error:
        raise Unreadable(_("This CxF file is not complete."), code="incomplete") from error


def _specifications(root: ElementTree.Element) -> dict[str, Specification]:
    found = {}
    for element in root.iter(f"{_NAMESPACE}ColorSpecification"):
        spread = element.find(f".//{_NAMESPACE}WavelengthRange")
        light = " ".join(
            (element.findtext(f".//{_NAMESPACE}{part}") or "").strip()
            for part in ("Illuminant", "Observer")
        ).strip()
        start = _number(spread.get("StartWL")) if spread is not None else None
        step = _number(spread.get("Increment")) if spread is not None else None
        found[element.get("Id", "")] = Specification(
            light.replace("_Degree", "°"), start, step or _DEFAULT_STEP_NM
        )
    return found


def _rows(
    root: ElementTree.Element, specifications: dict[str, Specification]
) -> Iterator[tuple[str, ...]]:
    for colour in root.iter(f"{_NAMESPACE}Object"):
        name = " ".join(colour.get("Name", "").split())
        spectrum = colour.find(f".//{_NAMESPACE}ReflectanceSpectrum")
        lab = colour.find(f".//{_NAMESPACE}ColorCIELab")
        if spectrum is not None:
            yield name, "", _spectrum(spectrum, specifications), ""
        elif lab is not None:
            parts = [(lab.findtext(f"{_NAMESPACE}{axis}") or "?").strip() for axis in "LAB"]
            spec = specifications.get(lab.get("ColorSpecification", ""), Specification())
            yield name, "", " ".join(parts), spec.light or _("an unknown light")


def _spectrum(spectrum: ElementTree.Element, specifications: dict[str, Specification]) -> str:
    """Return wavelength and value in turn."""
    spec = specifications.get(spectrum.get("ColorSpecification", ""), Specification())
    start = _number(spectrum.get("StartWL")) or spec.start_nm
    if start is None:
        raise Unreadable(
            _("A spectrum of this CxF file does not say where it begins."), code="no_start"
        )
    values = (spectrum.text or "").split()
    return "; ".join(f"{start + n * spec.step_nm:g} {value}" for n, value in enumerate(values))


def _number(text: str | None) -> float | None:
    try:
        return float(text) if text else None
    except ValueError:
        return None
