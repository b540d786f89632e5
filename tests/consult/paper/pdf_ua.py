"""What PDF/UA-1 asks of a paper that claims it, as far as its structure tree tells.

ISO 14289-1:2014: 7.1 (tagged, a title that is shown, a language), 7.2 (every text has one),
7.3 (figures have words), 7.4.2 (headings skip no level), 7.5 (tables have heads, by scope or by
the cells' Headers), 7.18.5 (links have words), 5 (the claim itself). What needs an eye, whether
the words are good ones, is not asked.
"""

import io
from collections.abc import Iterator
from typing import Any

from pypdf import PdfReader
from pypdf.generic import ArrayObject, DictionaryObject, NullObject

Object = Any  # pypdf types what it read as PdfObject, whatever it is

HEADINGS = {f"/H{level}": level for level in range(1, 7)}


def faults(content: bytes) -> list[str]:
    """Return what a paper lacks, in words; empty if nothing."""
    reader = PdfReader(io.BytesIO(content))
    root: Object = reader.trailer["/Root"]
    return [*_of_the_document(reader, root), *_of_links(reader), *_of_the_tree(root)]


def _of_the_document(reader: PdfReader, root: Object) -> Iterator[str]:
    if not root.get("/MarkInfo", {}).get("/Marked"):
        yield "not tagged"
    if not str(root.get("/Lang", "")):
        yield "no language"
    if not root.get("/ViewerPreferences", {}).get("/DisplayDocTitle"):
        yield "the title is not shown"
    if not (reader.metadata and reader.metadata.title):
        yield "no title"
    if b"pdfuaid:part" not in root["/Metadata"].get_object().get_data():
        yield "does not claim PDF/UA"


def _of_links(reader: PdfReader) -> Iterator[str]:
    for page in reader.pages:
        for note in page.get("/Annots", []):
            link = note.get_object()
            if link["/Subtype"] == "/Link" and not link.get("/Contents"):
                yield f"a link without words: {link.get('/A')}"


def _of_the_tree(root: Object) -> Iterator[str]:
    tree = root["/StructTreeRoot"]
    kinds = {str(kind): str(means) for kind, means in tree.get("/RoleMap", {}).items()}
    level = 0
    for element in _elements(tree):
        kind = kinds.get(str(element["/S"]), str(element["/S"]))
        if kind in ("/Figure", "/Formula") and not str(element.get("/Alt", "")).strip():
            yield f"a {kind[1:]} without words"
        if kind == "/Table":
            yield from _of_a_table(element)
        if kind in HEADINGS:
            if HEADINGS[kind] > level + 1:
                yield f"{kind[1:]} after H{level}"
            level = HEADINGS[kind]


def _of_a_table(table: Object) -> Iterator[str]:
    cells = [part for part in _elements(table) if part["/S"] in ("/TH", "/TD")]
    heads = [cell for cell in cells if cell["/S"] == "/TH"]
    if not heads:
        yield "a table without heads"
    if all("/Scope" in _attributes(head) for head in heads):
        return
    for cell in cells:
        if cell["/S"] == "/TD" and "/Headers" not in _attributes(cell):
            yield "a cell that names no head"


def _attributes(element: Object) -> dict[str, Any]:
    """Return what an element says of itself, whatever owner the attributes have."""
    about = element.get("/A", NullObject()).get_object()
    parts = about if isinstance(about, ArrayObject) else [about]
    found: dict[str, Any] = {}
    for part in parts:
        each = part.get_object()
        if isinstance(each, DictionaryObject):
            found |= each
    return found


def _elements(node: Object) -> Iterator[Object]:
    """Yield the structure elements below a node, in reading order."""
    below = node.get("/K", NullObject()).get_object()
    for part in below if isinstance(below, ArrayObject) else [below]:
        child = part.get_object()
        if isinstance(child, DictionaryObject) and "/S" in child:
            yield child
            yield from _elements(child)
