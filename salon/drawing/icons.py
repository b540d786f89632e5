"""The few marks of the product, drawn on a 24 grid; each kind of state has its own shape."""

MARKS = {
    # states: circle, check, triangle, octagon: told apart without any colour
    "info": (
        '<circle cx="12" cy="12" r="9.2"/><path d="M12 11v6M12 7.2v.3" stroke-width="2.6"/>'
    ),
    "good": '<circle cx="12" cy="12" r="9.2"/><path d="M7.5 12.5l3.2 3.2 6-7"/>',
    "caution": (
        '<path d="M12 3.2 22 20.5H2Z"/><path d="M12 9.5v5M12 17.2v.3" stroke-width="2.6"/>'
    ),
    "stop": (
        '<path d="M8.2 2.8h7.6l5.4 5.4v7.6l-5.4 5.4H8.2l-5.4-5.4V8.2Z"/>'
        '<path d="M7 12h10" stroke-width="3"/>'
    ),
    "tick": '<path d="M5 12.5l4.6 4.6L19.5 6.8" stroke-width="3"/>',
    "bar": '<path d="M5 12h14" stroke-width="4"/>',
    "person": (
        '<circle cx="12" cy="8" r="4.2"/><path d="M3.8 21c.6-4.6 4-7 8.2-7s7.6 2.4 8.2 7"/>'
    ),
    "arrow": '<path d="M3 12h17M14 6l6 6-6 6"/>',
    "find": '<circle cx="10.5" cy="10.5" r="6.5"/><path d="M15.5 15.5 21 21"/>',
    "clock": '<circle cx="12" cy="12" r="9.2"/><path d="M12 6.5V12l4 2.6"/>',
    "print": '<path d="M7 8V3h10v5M7 17H3.5V8h17v9H17M7 14h10v7H7Z"/>',
    "pen": '<path d="M4 20l1.2-4.6L16.6 4l3.4 3.4L8.6 18.8ZM3 22h18" stroke-linejoin="round"/>',
    "plus": '<path d="M12 4v16M4 12h16"/>',
    "camera": (
        '<path d="M3 7.5h4.5L9.3 5h5.4l1.8 2.5H21V19H3Z"/><circle cx="12" cy="13" r="3.7"/>'
    ),
    "drop": (
        '<path d="M12 3c3.4 4.4 5.6 7.6 5.6 11A5.6 5.6 0 0 1 6.4 14C6.4 10.6 8.6 7.4 12 3Z"/>'
    ),
}


def icon_svg(name: str) -> str:
    """Return a mark as `<svg>`, hidden from screen readers: words stand beside it."""
    return (
        '<svg class="icon" viewBox="0 0 24 24" aria-hidden="true" focusable="false" fill="none"'
        f' stroke="currentColor" stroke-width="2" stroke-linecap="square">{MARKS[name]}</svg>'
    )
