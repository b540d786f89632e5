"""What becomes of a picture: held to Pillow's own reading and to the bytes themselves."""

import io

import pytest
from PIL import Image, ImageCms

from clients.photos import pictures
from tests.factories.photos import (
    GPS_IFD,
    MAKER,
    ORIENTATION,
    REFUSED,
    from_a_phone,
    moving,
    octets,
    two_halves,
)


def _read(content: bytes) -> pictures.Picture:
    return pictures.read(io.BytesIO(content), size=len(content))


def _opened(content: bytes) -> Image.Image:
    return Image.open(io.BytesIO(content), formats=["JPEG"])


def test_position_device_and_time_are_gone() -> None:
    sent = from_a_phone()
    assert Image.open(io.BytesIO(sent)).getexif().get_ifd(GPS_IFD)
    assert MAKER.encode() in sent

    kept = _read(sent)

    for content in (kept.content, kept.small):
        image = _opened(content)
        assert dict(image.getexif()) == {}
        assert dict(image.getexif().get_ifd(GPS_IFD)) == {}
        assert set(image.info) <= {
            "jfif", "jfif_version", "jfif_unit", "jfif_density", "progressive", "progression",
        }  # fmt: skip
        for word in (b"Exif", b"GPS", b"ICC_PROFILE", b"xmp", b"http", b"Pocket", b"at home"):
            assert word not in content


def _colour_at(picture: Image.Image, place: tuple[int, int]) -> tuple[int, ...]:
    """Return the red, green and blue of a picture's dot."""
    colour = picture.getpixel(place)
    assert isinstance(colour, tuple)
    return colour


@pytest.mark.parametrize(
    ("orientation", "size", "light"),
    # Exif 2.32, 4.6.4 A: 1 as it lies, 3 upside down, 6 and 8 turned a quarter.
    [
        (1, (400, 300), (20, 150)),
        (3, (400, 300), (380, 150)),
        (6, (300, 400), (150, 20)),
        (8, (300, 400), (150, 380)),
    ],
)
def test_a_picture_stands_upright(
    orientation: int, size: tuple[int, int], light: tuple[int, int]
) -> None:
    kept = _opened(_read(from_a_phone(orientation)).content)

    assert kept.size == size
    assert ORIENTATION not in kept.getexif()
    assert _colour_at(kept, light)[0] > 180


def test_a_large_picture_is_made_smaller_and_keeps_its_shape() -> None:
    kept = _read(octets(two_halves((4000, 3000))))

    assert (kept.width, kept.height) == (1600, 1200)
    assert _opened(kept.content).size == (1600, 1200)
    assert _opened(kept.small).size == (480, 360)


@pytest.mark.parametrize("name", REFUSED)
def test_what_is_no_photo_is_refused_with_its_reason(name: str) -> None:
    content, word = REFUSED[name]

    with pytest.raises(pictures.PictureRefused, match=word):
        _read(content())


@pytest.mark.parametrize(
    ("content", "left"),
    [
        (octets(two_halves(mode="CMYK")), (210, 180, 130)),
        (octets(two_halves(mode="L")), (183, 183, 183)),
        (octets(two_halves().quantize(8), "PNG"), (210, 180, 130)),
        (octets(two_halves(mode="RGBA"), "PNG"), (210, 180, 130)),
        (octets(two_halves(), "WEBP", quality=95), (210, 180, 130)),
        (octets(two_halves(), "MPO", save_all=True, append_images=[two_halves()]),
         (210, 180, 130)),
        (octets(two_halves(), exif=b"Exif\x00\x00nonsense"), (210, 180, 130)),
        (octets(two_halves(), icc_profile=b"nonsense" * 9), (210, 180, 130)),
    ],
    ids=["CMYK", "grey", "palette", "alpha", "WebP", "two views", "bad EXIF", "bad profile"],
)  # fmt: skip
def test_every_usual_kind_becomes_a_plain_jpeg(
    content: bytes, left: tuple[int, int, int]
) -> None:
    kept = _opened(_read(content).content)

    assert (kept.format, kept.mode, kept.size) == ("JPEG", "RGB", (400, 300))
    assert max(abs(a - b) for a, b in zip(_colour_at(kept, (100, 150)), left, strict=True)) <= 9


def test_what_is_clear_becomes_white() -> None:
    clear = Image.new("RGBA", (200, 200), (0, 0, 0, 0))

    assert _opened(_read(octets(clear, "PNG")).content).getpixel((99, 99)) == (255, 255, 255)


def test_a_profile_is_applied_and_not_only_dropped() -> None:
    """sRGB with red and blue colorants exchanged (ICC.1:2022, 9.2): red must come out blue."""
    srgb = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    exchanged = (
        srgb.replace(b"rXYZ", b"tmp1").replace(b"bXYZ", b"rXYZ").replace(b"tmp1", b"bXYZ")
    )
    red = Image.new("RGB", (100, 100), (200, 40, 40))

    kept = _opened(_read(octets(red, "PNG", icc_profile=exchanged)).content)

    got = _colour_at(kept, (50, 50))
    assert max(abs(a - b) for a, b in zip(got, (40, 40, 200), strict=True)) <= 6


def test_a_bomb_is_refused_before_anything_is_decoded(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Image.Image, "load", lambda self: pytest.fail("decoded"))

    with pytest.raises(pictures.PictureRefused):
        _read(REFUSED["60 million pixels"][0]())


def test_a_still_gif_is_refused_as_well() -> None:
    with pytest.raises(pictures.PictureRefused, match="GIF"):
        _read(octets(two_halves(mode="P"), "GIF"))
    assert moving("GIF")[:4] == b"GIF8"
