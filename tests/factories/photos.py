"""Pictures as cameras and people send them, drawn here."""

import datetime as dt
import io
import struct
import zlib
from collections.abc import Callable
from typing import Any

from PIL import Image, TiffImagePlugin

from clients import services
from clients.models import Appointment, Consent, ConsentKind
from clients.photos import pictures
from salon.models import Staff

GPS_IFD, ORIENTATION, MAKE, TAKEN = 0x8825, 0x0112, 0x010F, 0x0132
MAKER = "Pocket camera 9"


def two_halves(size: tuple[int, int] = (400, 300), mode: str = "RGB") -> Image.Image:
    """Return a picture with a light left half and a dark right half."""
    image = Image.new("RGB", size, (210, 180, 130))
    image.paste((60, 40, 30), (size[0] // 2, 0, *size))
    return image.convert(mode)


def octets(image: Image.Image, kind: str = "JPEG", **options: Any) -> bytes:
    out = io.BytesIO()
    image.save(out, kind, **options)
    return out.getvalue()


def from_a_phone(orientation: int = 1, size: tuple[int, int] = (400, 300)) -> bytes:
    """Return a JPEG with position, device, time, comment and XMP, as telephones write them."""
    exif = Image.Exif()
    exif[ORIENTATION], exif[MAKE], exif[TAKEN] = orientation, MAKER, "2026:03:11 10:00:00"
    gps = exif.get_ifd(GPS_IFD)
    gps[1], gps[2] = "N", tuple(TiffImagePlugin.IFDRational(n) for n in (53, 20, 59))
    gps[3], gps[4] = "W", tuple(TiffImagePlugin.IFDRational(n) for n in (6, 15, 37))
    return octets(
        two_halves(size),
        exif=exif,
        comment=b"at home",
        xmp=b"<x:xmpmeta xmlns:x='adobe:ns:meta/'>Pocket</x:xmpmeta>",
        quality=90,
    )


def png_of(width: int, height: int) -> bytes:
    """Return a PNG whose header claims a size; its few bytes hold one row of nothing."""

    def chunk(kind: bytes, body: bytes) -> bytes:
        return (
            struct.pack(">I", len(body))
            + kind
            + body
            + struct.pack(">I", zlib.crc32(kind + body))
        )

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    rows = zlib.compress(b"\x00" * 1000)
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", rows) + chunk(b"IEND", b"")
    )


def moving(kind: str) -> bytes:
    """Return a moving picture of two frames."""
    other = Image.new("RGB", (200, 200), (9, 9, 9))
    return octets(two_halves((200, 200)), kind, save_all=True, append_images=[other])


# What is refused, and a word of the reason.
REFUSED: dict[str, tuple[Callable[[], bytes], str]] = {
    "no bytes": (lambda: b"", "empty"),
    "an executable under another name": (lambda: b"MZ\x90\x00" + b"\x00" * 4000, "not a photo"),
    "a script": (lambda: b"#!/bin/sh\nrm -rf /\n" * 9, "not a photo"),
    "a page": (lambda: b"<html><script>alert(1)</script></html>", "not a photo"),
    "a drawing": (lambda: b"  <svg xmlns='http://www.w3.org/2000/svg'/>", "SVG"),
    "HEIC": (lambda: b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic" + b"\0" * 99, "HEIC"),
    "a moving GIF": (lambda: moving("GIF"), "GIF"),
    "a moving WebP": (lambda: moving("WEBP"), "Moving"),
    "a moving PNG": (lambda: moving("PNG"), "Moving"),
    "30,000 pixels square": (lambda: png_of(30_000, 30_000), "too many pixels"),
    "30,000 pixels wide": (lambda: png_of(30_000, 70), "too many pixels"),
    "60 million pixels": (lambda: png_of(10_000, 6_000), "too many pixels"),
    "a stamp": (lambda: octets(two_halves((40, 40))), "too small"),
    "half a JPEG": (lambda: from_a_phone()[:2500], "damaged"),
    "half a PNG": (lambda: octets(two_halves(), "PNG")[:300], "damaged"),
    "a PNG that claims more than it has": (lambda: png_of(300, 300), "damaged"),
    "12 MB and a byte": (lambda: from_a_phone() + b"\0" * 12 * 1024 * 1024, "12 MB"),
    "a TIFF": (lambda: octets(two_halves(), "TIFF"), "not a photo"),
}


def phone_picture() -> pictures.Picture:
    """Return a telephone's photo as the product keeps it."""
    content = from_a_phone()
    return pictures.read(io.BytesIO(content), size=len(content))


def agree(one: Appointment, by: Staff, at: dt.datetime, given: bool = True) -> Consent:
    """Record what the client of an appointment says to photos."""
    return services.record_consent(
        client=one.client,
        kind=ConsentKind.PHOTOS,
        wording="Photos?",
        is_given=given,
        by=by,
        at=at,
    )
