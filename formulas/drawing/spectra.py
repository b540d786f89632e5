"""Spectra as plots: what the hair sends back, and what each shade takes away."""

import math
from collections.abc import Mapping, Sequence

from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from formulas.drawing.frame import DASHES, Frame, KeyEntry, Line, ticks
from formulas.explanation import Deposit
from salon.drawing.markup import text


def reflectance_svg(
    wavelengths: Sequence[float], curves: Mapping[str, Sequence[float]]
) -> SafeString:
    """Return reflectance before and after, dry and damp, in per cent."""
    highest = max(max(curve) for curve in curves.values())
    top = max(0.2, math.ceil(highest * 10) / 10)
    frame = Frame(400, 700, 0, top * 100)
    styles = {
        "start": (_("before, dry"), DASHES[0], 2.0),
        "dry": (_("after, dry"), DASHES[0], 4.0),
        "damp": (_("after, damp"), DASHES[2], 3.0),
    }
    drawn = [
        frame.line(
            [(nm, 100 * r) for nm, r in zip(wavelengths, curves[key], strict=True)],
            dash=dash,
            width=width,
        )
        for key, (_words, dash, width) in styles.items()
    ]
    scale = ticks(0, top * 100, 10 if top <= 0.6 else 20)
    return _plot(
        frame,
        scale,
        drawn,
        frame.key(list(styles.values())),
        title=_("Light reflected by the hair, per cent, from 400 to 700 nanometres"),
    )


def deposit_svg(wavelengths: Sequence[float], deposits: Sequence[Deposit]) -> SafeString:
    """Return how strongly each shade of the mix absorbs (K/S), by wavelength."""
    highest = max((max(deposit["ks"]) for deposit in deposits), default=0.0)
    step = _step(highest)
    top = max(step, math.ceil(highest / step) * step)
    frame = Frame(400, 700, 0, top)
    places = 0 if step >= 1 else 1 if step >= 0.1 else 2
    key = [
        (deposit["shade"], DASHES[n % len(DASHES)], 2.5 + (n == 0))
        for n, deposit in enumerate(deposits)
    ]
    drawn = [
        frame.line(list(zip(wavelengths, deposit["ks"], strict=True)), dash=dash, width=width)
        for deposit, (_words, dash, width) in zip(deposits, key, strict=True)
    ]
    return _plot(
        frame,
        ticks(0, top, step, places=places),
        drawn,
        frame.key(key),
        title=_("How strongly each shade of the mix absorbs, from 400 to 700 nanometres"),
    )


def _step(highest: float) -> float:
    """Return a round distance of ticks, four to eight of them up to `highest`."""
    if highest <= 0:
        return 0.1
    power = 10 ** math.floor(math.log10(highest))
    return float(next(power * m for m in (0.2, 0.5, 1.0, 2.0) if highest / (power * m) <= 6))


def _plot(
    frame: Frame,
    scale: Sequence[tuple[float, str]],
    lines: Sequence[Line],
    key: Sequence[KeyEntry],
    *,
    title: str,
) -> SafeString:
    """Return the plot over wavelengths, the colours of light in words below it."""
    words = [
        (420, _("violet")),
        (465, _("blue")),
        (530, _("green")),
        (578, _("yellow")),
        (618, _("orange")),
        (670, _("red")),
    ]
    return frame.drawing(
        "spectra",
        title=title,
        y_axis=frame.y_axis(scale),
        x_axis=frame.x_axis(
            [(nm, str(nm)) for nm in range(400, 701, 50)], name=_("wavelength, nm")
        ),
        light=[
            text(frame.x(nm), frame.bottom + 42, word, anchor="middle") for nm, word in words
        ],
        lines=lines,
        key=key,
    )
