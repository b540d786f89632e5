"""What people, scripts and mistakes send: odd text, numbers, dates, lists."""

import os
from typing import Any

from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st

# FUZZ=20 looks twenty times as long, with other values each time: before a release.
TIMES = int(os.environ.get("FUZZ", "1"))
QUICK = settings(
    max_examples=12 * TIMES,
    deadline=None,
    derandomize=TIMES == 1,
    database=None,
    phases=[Phase.explicit, Phase.generate],
    suppress_health_check=list(HealthCheck),
)

ODD_TEXT = (
    "",
    " ",
    "\x00",
    "a\x00b",
    "\u202eevil\u202c",  # right-to-left override
    "\u2066\u2067\u2069",  # isolates
    "\u200b\u200d\ufeff",  # zero width
    "\ufffd\uffff\U0010ffff",  # stand-in and noncharacters
    "👩🏽‍🦳" * 30,
    "Z" + "\u0301" * 200,  # accents without end
    "ß" * 5000,
    "ﷺ" * 300,  # one sign that lowers and decomposes to eighteen
    "İ" * 120,
    "<script>alert(1)</script>",
    "'; DROP TABLE clients_client; --",
    "{{ 7 * 7 }}{% debug %}",
    "%s %d %(n)s {0} {name.__class__}",
    "\r\n\tX-Header: 1",
    "../../etc/passwd",
    "null",
    "[]",
    '{"a": 1}',
    '[["name", "\\ud800"]]',
    '[["name", "\\u0000"]]',
    "[" * 2000,
    "=1+1",
    "²",
    "٣",
    "½",
    "１２",
)
ODD_NUMBERS = (
    "0", "-0", "-1", "1e309", "-1e309", "1e-400", "NaN", "-nan", "sNaN", "Infinity", "-inf",
    "1e400000", "1E+999999999", "99999999999999999999", "9" * 400, "2147483648",
    "9223372036854775807", "9223372036854775808", "-9223372036854775809", "0x10", "1_000",
    "1,5", "−2", "0.0000000000000001", ".", "+", "1e", "12.345678901234567890",
)  # fmt: skip
ODD_DATES = (
    "0000-00-00", "0000-01-01", "0001-01-01", "-0001-01-01", "9999-12-31", "10000-01-01",
    "2026-02-30", "2024-02-29", "1899-12-31", "2026-13-01", "01/01/0001", "31.12.9999",
    "0001-01-01T00:00", "9999-12-31T23:59", "2026-03-29T01:30", "24:00", "23:59:60", "00:00",
    "-1:00", "99:99", "2026-11-25T25:00", "2026-W01-1",
)  # fmt: skip

# What has made programs fall over before: each is tried everywhere.
WORST = (
    "²", "0001-01-01", "a\x00b", "9" * 5000, "NaN", "1e309", "-1", "99999999999999999999",
    "9999-12-31", "٣", '[["name", "\\ud800"]]', "\u202e" + "Z" * 9000,
)  # fmt: skip

_ODD_ONE = st.one_of(
    st.sampled_from(WORST),
    st.sampled_from(WORST),
    st.sampled_from(ODD_TEXT),
    st.sampled_from(ODD_NUMBERS),
    st.sampled_from(ODD_DATES),
    st.text(st.characters(exclude_categories=["Cs"]), max_size=40),
    st.integers().map(str),
    st.floats().map(str),
)


def values() -> st.SearchStrategy[list[str]]:
    """Return what may stand under one name of a form: mostly one value, none, or several."""
    return st.one_of(
        _ODD_ONE.map(lambda one: [one]),
        _ODD_ONE.map(lambda one: [one]),
        st.lists(_ODD_ONE, max_size=3),
    )


@st.composite
def bent(draw: Any, good: dict[str, list[str]]) -> dict[str, list[str]]:
    """Return a form's values with a few of them made odd."""
    names = sorted(good)
    if not names:
        return {}
    chosen = draw(st.lists(st.sampled_from(names), min_size=1, max_size=4, unique=True))
    return {**good, **{name: draw(values()) for name in chosen}}
