"""vCard 4.0 (RFC 6350) out, and 3.0 or 4.0 in."""

import re
from collections.abc import Iterable, Iterator

from clients.models import Client

_FOLD = 75  # octets, without the line break
_SEVERAL = ("phone", "email")
HEADER = ["name", "known_as", "phone", "email", "birth_date", "note"]


def export(clients: Iterable[Client]) -> Iterator[bytes]:
    """Yield one card per client."""
    for client in clients:
        yield card(client)


def card(client: Client) -> bytes:
    """Return a client as one card; no health detail and no note."""
    lines = [
        "BEGIN:VCARD",
        "VERSION:4.0",
        f"UID:client-{client.pk}@{client.salon_id}.salon.invalid",
        f"FN:{_escaped(client.name)}",
    ]
    if client.known_as:
        lines.append(f"NICKNAME:{_escaped(client.known_as)}")
    if client.phone:
        lines.append(f"TEL;VALUE=uri:tel:{client.phone}")
    if client.email:
        lines.append(f"EMAIL:{_escaped(client.email)}")
    if client.birth_date:
        lines.append(f"BDAY:{client.birth_date:%Y%m%d}")
    lines.append("END:VCARD")
    return b"".join(_folded(line) for line in lines)


def _escaped(text: str) -> str:
    text = text.replace("\\", "\\\\").replace(",", "\\,").replace(";", "\\;")
    return text.replace("\r\n", "\\n").replace("\n", "\\n")


def _folded(line: str) -> bytes:
    """Return a line as octets, broken after 75 without splitting a character."""
    pieces, rest = [], line.encode()
    limit = _FOLD
    while len(rest) > limit:
        cut = limit
        while rest[cut] & 0xC0 == 0x80:
            cut -= 1
        pieces.append(rest[:cut])
        rest, limit = rest[cut:], _FOLD - 1
    pieces.append(rest)
    return b"\r\n ".join(pieces) + b"\r\n"


def read(text: str) -> list[list[str]]:
    """Return one row per card, in the order of HEADER; what is no card is left out."""
    unfolded = re.sub(r"\r?\n[ \t]", "", text)
    rows = []
    for body in re.findall(r"(?ims)^BEGIN:VCARD\s*$(.*?)^END:VCARD\s*$", unfolded):
        found = dict.fromkeys(HEADER, "")
        for line in body.splitlines():
            _take(line, found)
        rows.append([found[name] for name in HEADER])
    return rows


def _take(line: str, found: dict[str, str]) -> None:
    match = re.fullmatch(r"(?:[\w-]+\.)?([\w-]+)((?:;[^:]*)?):(.*)", line.strip())
    if not match:
        return
    name, value = match[1].upper(), match[3]
    field = {
        "FN": "name",
        "NICKNAME": "known_as",
        "TEL": "phone",
        "EMAIL": "email",
        "BDAY": "birth_date",
        "NOTE": "note",
    }.get(name)
    if field is None or (found[field] and field not in _SEVERAL):
        return
    if name == "TEL":
        value = value.removeprefix("tel:").split(";")[0]
    elif name == "BDAY":
        value = re.sub(r"^(\d{4})(\d{2})(\d{2})$", r"\1-\2-\3", value.split("T")[0])
    # A second number or address is no less a value: the import sets it aside to look at.
    found[field] = "; ".join(filter(None, (found[field], _unescaped(value))))


def _unescaped(text: str) -> str:
    return re.sub(r"\\(.)", lambda found: " " if found[1] in "nN" else found[1], text).strip()
