"""Shift the lightness of a screen colour: hex <-> CIE L*a*b* (sRGB, D65).

IEC 61966-2-1 for the sRGB curve and primaries, CIE 15 for L*a*b*. Only for drawing:
colours are computed in `formulas.engine`.
"""

WHITE = (0.95047, 1.0, 1.08883)  # D65, 2 degrees, as sRGB assumes
TO_XYZ = (
    (0.4124564, 0.3575761, 0.1804375),
    (0.2126729, 0.7151522, 0.0721750),
    (0.0193339, 0.1191920, 0.9503041),
)
TO_RGB = (
    (3.2404542, -1.5371385, -0.4985314),
    (-0.9692660, 1.8760108, 0.0415560),
    (0.0556434, -0.2040259, 1.0572252),
)
Lab = tuple[float, float, float]
Linear = tuple[float, float, float]  # red, green and blue as light, 0 to 1


def hex_to_lab(colour: str) -> Lab:
    """Return L*, a*, b* of `#rrggbb` or `#rgb`; ValueError for anything else."""
    digits = colour.strip().removeprefix("#")
    if len(digits) == 3:
        digits = "".join(d * 2 for d in digits)
    if len(digits) != 6:
        raise ValueError(f"Not a colour: {colour!r}")
    red, green, blue = (_linear(int(digits[i : i + 2], 16) / 255) for i in (0, 2, 4))
    return linear_to_lab((red, green, blue))


def lab_to_hex(lab: Lab) -> str:
    """Return `#rrggbb`; colours beyond the screen are clipped channel by channel."""
    return "#" + "".join(f"{round(255 * _gamma(c)):02x}" for c in lab_to_linear(lab))


def lab_to_linear(lab: Lab) -> Linear:
    """Return the light of a colour, clipped channel by channel to what a screen has."""
    fy = (lab[0] + 16) / 116
    f = (fy + lab[1] / 500, fy, fy - lab[2] / 200)
    xyz = [_f_inverse(v) * w for v, w in zip(f, WHITE, strict=True)]
    red, green, blue = (
        min(1.0, max(0.0, sum(m * c for m, c in zip(row, xyz, strict=True)))) for row in TO_RGB
    )
    return red, green, blue


def linear_to_lab(rgb: Linear) -> Lab:
    """Return L*, a*, b* of light."""
    xyz = [sum(m * c for m, c in zip(row, rgb, strict=True)) for row in TO_XYZ]
    fx, fy, fz = (_f(v / w) for v, w in zip(xyz, WHITE, strict=True))
    return 116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)


def shifted(lab: Lab, by: float) -> str:
    """Return the hex of `lab` made lighter or darker by `by` L*; see `shifted_lab`."""
    return lab_to_hex(shifted_lab(lab, by))


def shifted_lab(lab: Lab, by: float) -> Lab:
    """Return `lab` made lighter or darker by `by` L*, chroma in proportion.

    Light on a strand is partly the lamp's own, so highlights lose a little chroma.
    """
    lightness = min(100.0, max(0.0, lab[0] + by))
    keep = 1 - min(0.5, by / 80) if by > 0 else lightness / max(lab[0], 1.0)
    return lightness, lab[1] * keep, lab[2] * keep


def lightness(colour: str) -> float:
    """Return L* of a hex colour."""
    return hex_to_lab(colour)[0]


def _linear(c: float) -> float:
    return c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4


def _gamma(c: float) -> float:
    return 12.92 * c if c <= 0.0031308 else 1.055 * max(c, 0.0) ** (1 / 2.4) - 0.055


def _f(t: float) -> float:
    return t ** (1 / 3) if t > 216 / 24389 else (24389 / 27 * t + 16) / 116


def _f_inverse(f: float) -> float:
    return f**3 if f > 6 / 29 else (116 * f - 16) * 27 / 24389
