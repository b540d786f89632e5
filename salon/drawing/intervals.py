"""A mean with its interval on a common scale: zero in the middle."""

from django.utils.html import escape


def interval_svg(
    mean: float, low: float, high: float, *, reach: float, is_off: bool, label: str
) -> str:
    """Return dot and whisker; open where the mean is beyond chance, as `label` says."""

    def x(value: float) -> float:
        return 80 + 74 * min(1.0, max(-1.0, value / reach))

    kind = "tt-seen tt-seen--outside" if is_off else "tt-seen"
    return (
        f'<svg class="interval" viewBox="0 0 160 24" role="img" aria-label="{escape(label)}"'
        ' fill="none"><path class="tt-rule" d="M4 12H156"/>'
        '<path class="tt-ink-line" d="M80 2V22"/>'
        f'<path class="tt-run" d="M{x(low):.1f} 12H{x(high):.1f}M{x(low):.1f} 8v8'
        f'M{x(high):.1f} 8v8"/>'
        f'<circle class="{kind}" cx="{x(mean):.1f}" cy="12" r="5"/></svg>'
    )
