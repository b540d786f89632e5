"""A mean with its interval on a common scale: zero in the middle."""

from django.utils.safestring import SafeString

from salon.drawing.markup import drawing


def interval_svg(
    mean: float, low: float, high: float, *, reach: float, is_off: bool, label: str
) -> SafeString:
    """Return dot and whisker; open where the mean is beyond chance, as `label` says."""

    def x(value: float) -> str:
        return f"{80 + 74 * min(1.0, max(-1.0, value / reach)):.1f}"

    return drawing(
        "interval", mean=x(mean), low=x(low), high=x(high), is_off=is_off, label=label
    )
