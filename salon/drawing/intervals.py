"""A mean with its interval on a common scale: zero in the middle."""

from django.utils.html import escape


def interval_svg(
    mean: float, low: float, high: float, *, reach: float, is_off: bool, label: str
) -> str:
    """Return dot and whisker; open where the mean is beyond chance, as `label` says.

    The classes are the screen's; paper, whose styles do not reach into a drawing, has the rest.
    """

    def x(value: float) -> float:
        return 80 + 74 * min(1.0, max(-1.0, value / reach))

    kind = "tt-seen tt-seen--outside" if is_off else "tt-seen"
    ink = 'stroke="#0e0e0e" stroke-width="1.5"'
    dot = f'fill="#fff" {ink}' if is_off else 'fill="#0e0e0e"'
    return (
        f'<svg class="interval" viewBox="0 0 160 24" role="img" aria-label="{escape(label)}"'
        ' fill="none"><path class="tt-rule" stroke="#b9b9b9" d="M4 12H156"/>'
        f'<path class="tt-ink-line" {ink} d="M80 2V22"/>'
        f'<path class="tt-run" {ink} d="M{x(low):.1f} 12H{x(high):.1f}M{x(low):.1f} 8v8'
        f'M{x(high):.1f} 8v8"/>'
        f'<circle class="{kind}" {dot} cx="{x(mean):.1f}" cy="12" r="5"/></svg>'
    )
