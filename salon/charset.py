"""Which letters a file is written in: certain where its bytes say so, else guessed."""

import re

from charset_normalizer import CharsetMatch, CharsetMatches, from_bytes
from django.utils.translation import get_language
from django.utils.translation import gettext_lazy as _

UTF_8 = "utf-8"
FALLBACK = "cp1252"
CHOICES = [
    (UTF_8, _("UTF-8 (any language)")),
    ("cp1252", _("Western European (Windows)")),
    ("cp1250", _("Central European (Windows)")),
    ("cp1251", _("Cyrillic (Windows)")),
    ("cp1253", _("Greek (Windows)")),
    ("cp1254", _("Turkish (Windows)")),
    ("cp1255", _("Hebrew (Windows)")),
    ("cp1256", _("Arabic (Windows)")),
    ("cp1257", _("Baltic (Windows)")),
    ("cp1258", _("Vietnamese (Windows)")),
    ("mac_roman", _("Western European (Macintosh)")),
    ("cp850", _("Western European (DOS)")),
    ("shift_jis", _("Japanese (Shift JIS)")),
    ("gb18030", _("Chinese (GB 18030)")),
    ("big5", _("Chinese (Big5)")),
    ("euc_kr", _("Korean (EUC-KR)")),
    ("utf_16", _("UTF-16")),
]
# Guessed among; the rest can be chosen by hand.
_GUESSED = ["cp1252", "cp1250", "cp1251", "cp1253", "cp1254", "cp1255", "cp1256",
            "mac_roman", "shift_jis", "gb18030", "big5", "euc_kr"]  # fmt: skip
_USUAL = {
    **dict.fromkeys(("cs", "hr", "hu", "pl", "ro", "sk", "sl"), "cp1250"),
    **dict.fromkeys(("be", "bg", "ru", "sr", "uk"), "cp1251"),
    "el": "cp1253", "tr": "cp1254", "he": "cp1255", "ar": "cp1256",
}  # fmt: skip
_CLEARLY_MORE = 0.05
_SAMPLE_OCTETS = 64 * 1024
_UTF_16_MARKS = (b"\xff\xfe", b"\xfe\xff")


def guess(content: bytes) -> str:
    """Return the name of the encoding that a file is probably written in."""
    if content.startswith(_UTF_16_MARKS):
        return "utf_16"
    text = content.decode(UTF_8, errors="surrogateescape")
    broken = len(re.findall("[\udc80-\udcff]", text))
    sound = len(re.findall("[^\x00-\x7f\udc80-\udcff]", text))
    # Other encodings hardly ever form sound UTF-8 by chance: some broken rows spoil no file.
    if sound >= broken:
        return UTF_8
    return _likeliest(from_bytes(_informative_lines(content), cp_isolation=_GUESSED))


def _likeliest(matches: CharsetMatches) -> str:
    """Return the best match; among equals what the reader's language is written in.

    A list of names is short: Western and Central European letters often fit equally well.
    """
    fitting: dict[str, CharsetMatch] = {}
    for match in matches:  # the best first
        for name in match.could_be_from_charset:
            if name in _GUESSED:
                fitting.setdefault(name, match)
    if not fitting:
        return FALLBACK
    best = min(fitting, key=lambda name: (fitting[name].chaos, -fitting[name].coherence))
    usual = _USUAL.get((get_language() or "").split("-")[0], FALLBACK)
    for name in (usual, FALLBACK):
        likely = fitting.get(name)
        if likely is None or likely.chaos > fitting[best].chaos:
            continue
        if likely.coherence > fitting[best].coherence - _CLEARLY_MORE:
            return name
    return best


def decode(content: bytes, encoding: str) -> str:
    """Return the text; octets that the encoding does not know become lone surrogates."""
    if encoding == UTF_8:
        encoding = "utf-8-sig"
    return content.decode(encoding, errors="surrogateescape")


def _informative_lines(content: bytes) -> bytes:
    """Return lines with more than plain English letters: only they tell encodings apart."""
    lines, octets = [], 0
    for line in content.splitlines():
        if not line.isascii():
            lines.append(line)
            octets += len(line)
            if octets > _SAMPLE_OCTETS:
                break
    return b"\n".join(lines)
