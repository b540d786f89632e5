"""A picture from outside, made into a plain photo: small, upright, sRGB, nothing else in it.

What comes in is looked at before it is decoded: its size in bytes, its format, its width and
height. What goes out is encoded again, so that no position, device, time, comment or profile of
the camera can be left in it.
"""

import hashlib
import io
import threading
import warnings
from dataclasses import dataclass
from typing import IO

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from PIL import Image, ImageCms, ImageFile, ImageOps, UnidentifiedImageError

from salon.refusals import Refused

MOST_OCTETS = 12 * 1024 * 1024
MOST_SIDE = 16_000
MOST_PIXELS = 50_000_000  # what telephones take at most
MOST_PIXELS_WHOLE = 25_000_000  # of formats that can only be decoded in full
LEAST_SIDE = 64
SIDE, SMALL_SIDE = 1600, 480
FORMATS = ("JPEG", "PNG", "WEBP")
_MOST_PROFILE = 2 * 1024 * 1024
_BACK = (255, 255, 255)

# Pillow warns from half of what it refuses; here both are refusals.
warnings.filterwarnings("error", category=Image.DecompressionBombWarning)

# One at a time in each process, so that memory stays bounded however many are sent at once.
_decoding = threading.Lock()

_TOO_MANY = gettext_lazy("This picture has too many pixels. Take it with the tablet's camera.")
_BROKEN = gettext_lazy("This picture is damaged and cannot be read. Take it again.")
_STARTS = (
    (
        (b"GIF8",),
        gettext_lazy("GIF pictures are not accepted. Take a photo, or choose a JPEG or PNG."),
    ),
    (
        (b"<svg", b"<?xml", b"\xef\xbb\xbf<"),
        gettext_lazy("Drawings (SVG) are not accepted. Take a photo, or choose a JPEG or PNG."),
    ),
)
_HEIF = (b"heic", b"heix", b"hevc", b"heim", b"heis", b"mif1", b"msf1", b"avif")


class PictureRefused(Refused):
    """Raised with the reason why a file is not accepted as a photo."""


@dataclass(frozen=True)
class Picture:
    """A photo as it is kept: JPEG, with a small one for lists."""

    content: bytes
    small: bytes
    width: int
    height: int

    @property
    def digest(self) -> str:
        """SHA-256 of the photo."""
        return hashlib.sha256(self.content).hexdigest()


def read(file: IO[bytes], *, size: int) -> Picture:
    """Return what `file` shows, or refuse it with the reason."""
    if size == 0:
        raise PictureRefused(_("This file is empty. Take the photo again."), code="empty")
    if size > MOST_OCTETS:
        raise PictureRefused(_("This file is larger than 12 MB."), code="too_large")
    _check_start(file)
    try:
        with _decoding:
            return _drawn(file)
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as bomb:
        raise PictureRefused(str(_TOO_MANY), code="too_many_pixels") from bomb
    except UnidentifiedImageError as unknown:
        raise PictureRefused(
            _("This is not a photo. Take one, or choose a JPEG, PNG or WebP picture."),
            code="no_photo",
        ) from unknown
    except PictureRefused:
        raise
    except Exception as fault:  # decoders fail in many ways; each means a damaged file
        raise PictureRefused(str(_BROKEN), code="broken") from fault


def _check_start(file: IO[bytes]) -> None:
    """Name the formats that people send by mistake."""
    file.seek(0)
    start = file.read(64)
    file.seek(0)
    if start[4:8] == b"ftyp" and start[8:12] in _HEIF:
        raise PictureRefused(
            _(
                "HEIC pictures are not accepted. In the camera's settings choose "
                "“most compatible” (JPEG), then take it again."
            ),
            code="heic",
        )
    for starts, reason in _STARTS:
        if start.lstrip().lower().startswith(tuple(prefix.lower() for prefix in starts)):
            raise PictureRefused(str(reason), code="broken")


def _drawn(file: IO[bytes]) -> Picture:
    # For the whole process, and WeasyPrint allows it when the first card is printed.
    ImageFile.LOAD_TRUNCATED_IMAGES = False
    with Image.open(file, formats=FORMATS) as source:
        _check_shape(source)
        if source.format in {"JPEG", "MPO"}:
            # Decodes to the nearest size above, by eighths, instead of in full.
            source.draft(None, (2 * SIDE, 2 * SIDE))
        source.load()
        profile = source.info.get("icc_profile")
        image = _upright(_flat(source))
        if image.mode == "L":
            image = image.convert("RGB")
        image.thumbnail((SIDE, SIDE), Image.Resampling.LANCZOS, reducing_gap=2.0)
        image = _in_srgb(image, profile)
        small = image.copy()
        small.thumbnail((SMALL_SIDE, SMALL_SIDE), Image.Resampling.LANCZOS)
        return Picture(_encoded(image), _encoded(small), *image.size)


def _check_shape(source: Image.Image) -> None:
    """Refuse by what the header says, before anything is decoded."""
    width, height = source.size
    is_jpeg = source.format in {"JPEG", "MPO"}
    most = MOST_PIXELS if is_jpeg else MOST_PIXELS_WHOLE
    if max(width, height) > MOST_SIDE or width * height > most:
        raise PictureRefused(str(_TOO_MANY), code="too_many_pixels")
    if min(width, height) < LEAST_SIDE:
        raise PictureRefused(_("This picture is too small to show hair."), code="too_small")
    # Telephones put a second view behind the first (MPO); that is still one photo.
    if not is_jpeg and getattr(source, "is_animated", False):
        raise PictureRefused(
            _("Moving pictures are not accepted. Take a photo."), code="moving"
        )


def _flat(source: Image.Image) -> Image.Image:
    """Return a picture without transparency, palette or 16-bit samples, EXIF still at hand."""
    if source.mode in {"RGB", "CMYK", "L"}:
        return source
    clear = source.convert("RGBA") if source.has_transparency_data else None
    if clear is None:
        flat = source.convert("RGB")
    else:
        flat = Image.new("RGB", source.size, _BACK)
        flat.paste(clear, mask=clear.getchannel("A"))
    flat.info["exif"] = source.info.get("exif", b"")
    return flat


def _upright(image: Image.Image) -> Image.Image:
    """Return the picture turned as the camera says; unchanged where that makes no sense."""
    try:
        return ImageOps.exif_transpose(image)
    except Exception:  # the camera's notes are of no worth to us
        return image


def _in_srgb(image: Image.Image, profile: bytes | None) -> Image.Image:
    """Return the picture in sRGB: telephones and tablets often record a wider gamut."""
    if profile and len(profile) <= _MOST_PROFILE:
        try:
            embedded = ImageCms.ImageCmsProfile(io.BytesIO(profile))
            done = ImageCms.profileToProfile(
                image, embedded, ImageCms.createProfile("sRGB"), outputMode="RGB"
            )
            if done is not None:
                return done
        except (ImageCms.PyCMSError, OSError, ValueError, TypeError):
            pass  # a profile that makes no sense is as good as none
    return image.convert("RGB")


def _encoded(image: Image.Image) -> bytes:
    """Return a JPEG of the pixels alone; colour in full resolution, since colour is judged."""
    bare = Image.new("RGB", image.size)
    bare.paste(image)
    out = io.BytesIO()
    bare.save(out, "JPEG", quality=88, subsampling=0, optimize=True, progressive=True)
    return out.getvalue()
