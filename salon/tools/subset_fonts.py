"""Make the Latin faces of static/vendor/fonts from their packages.

    python -m salon.tools.subset_fonts SOURCE_SANS LITERATA

where the two are folders with the unpacked npm packages `source-sans` and
`@fontsource-variable/literata`. One file each, so that a name with a Polish or a Vietnamese
letter costs no second one. Text keeps its weights from 400 to 700; headings have one, 500.

    python -m salon.tools.subset_fonts

makes the single weights of the text face that paper is printed in. A PDF cannot hold a face
whose weight varies: fixing it for each takes a third of the time of a card.
"""

import sys
from io import BytesIO
from pathlib import Path
from tempfile import TemporaryDirectory

from fontTools import merge, subset
from fontTools.ttLib import TTFont
from fontTools.varLib import instancer

PLACE = Path(__file__).resolve().parents[2] / "static" / "vendor" / "fonts"
# Basic Latin, Latin-1, Latin Extended-A, Romanian, Vietnamese, capital sharp s, arrows.
RANGES = (
    (0x20, 0x7E), (0xA0, 0x17F), (0x1A0, 0x1A1), (0x1AF, 0x1B0), (0x218, 0x21B), (0x2BB, 0x2BC),
    (0x2C6, 0x2C7), (0x2D8, 0x2DD),
    (0x300, 0x304), (0x306, 0x30C), (0x323, 0x323),
    (0x326, 0x328), (0x1E9E, 0x1E9E), (0x1EA0, 0x1EF9), (0x2009, 0x2014),
    (0x2018, 0x201E), (0x2020, 0x2022), (0x2026, 0x2026),
    (0x202F, 0x2033), (0x2039, 0x203A), (0x20AC, 0x20AC), (0x2122, 0x2122), (0x2190, 0x2194),
    (0x2212, 0x2215), (0x2248, 0x2248), (0x2260, 0x2265),
)  # fmt: skip
LETTERS = frozenset(letter for first, last in RANGES for letter in range(first, last + 1))
# Of text on paper: print.css and card.css ask for these.
PRINTED_WEIGHTS = (400, 600, 700)
FEATURES = ["kern", "liga", "mark", "mkmk", "ccmp", "locl", "lnum", "tnum", "calt"]


def _limited(path: Path, **axes: object) -> TTFont:
    """Return the face with fewer weights or optical sizes, and LETTERS alone."""
    font = instancer.instantiateVariableFont(TTFont(path), axes)
    font.flavor = None
    again = BytesIO()
    font.save(again)
    again.seek(0)
    font = TTFont(again)
    options = subset.Options()
    options.layout_features = FEATURES
    options.hinting = False
    options.name_IDs = ["*"]  # the licence and the reserved name stay in the file
    subsetter = subset.Subsetter(options)
    subsetter.populate(unicodes=LETTERS)
    subsetter.subset(font)
    return font


def _save(font: TTFont, path: Path) -> None:
    font.flavor = "woff2"
    font.save(path)
    print(path.name, path.stat().st_size)


def text_face(package: Path) -> TTFont:
    """Return Source Sans 3, weights 400 to 700, lines a little higher than it asks for."""
    font = _limited(package / "WOFF2/VF/SourceSans3VF-Upright.ttf.woff2", wght=(400, 700))
    font["hhea"].ascent = font["OS/2"].sTypoAscender = 1024
    font["hhea"].descent = font["OS/2"].sTypoDescender = -400
    return font


def print_face(variable: Path, weight: int) -> TTFont:
    """Return one weight of the text face."""
    return instancer.instantiateVariableFont(
        TTFont(variable, recalcTimestamp=False), {"wght": weight}, static=True
    )


def heading_face(package: Path) -> TTFont:
    """Return Literata at weight 500 and optical size 30, its three Latin files as one."""
    with TemporaryDirectory() as folder:
        parts = []
        for part in ("latin", "latin-ext", "vietnamese"):
            source = package / f"files/literata-{part}-opsz-normal.woff2"
            parts.append(str(Path(folder) / f"{part}.ttf"))
            _limited(source, wght=500, opsz=30).save(parts[-1])
        return merge.Merger().merge(parts)  # two static faces; variable ones cannot be joined


if __name__ == "__main__":
    text = PLACE / "source-sans-3" / "latin.woff2"
    if len(sys.argv) > 1:
        sans, literata = map(Path, sys.argv[1:])
        _save(text_face(sans), text)
        _save(heading_face(literata), PLACE / "literata" / "latin.woff2")
    for weight in PRINTED_WEIGHTS:
        _save(print_face(text, weight), text.with_name(f"print-{weight}.woff2"))
