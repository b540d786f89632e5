"""Write a path of SVG in fewer letters: steps from point to point instead of places."""

import re
from functools import lru_cache

_PART = re.compile(r"([MLQZ])([^MLQZ]*)")


@lru_cache(maxsize=256)
def relative(path: str) -> str:
    """Return a path of absolute M, L, Q and Z with steps of a tenth; the same line is drawn.

    Steps repeat where places do not, so a page with many hairs is half as heavy on its way.
    Rounding is by where the pen really stands, so it does not add up.
    """
    pen = start = (0, 0)
    written = ""
    for command, numbers in _PART.findall(path):
        if command == "Z":
            written, pen = written + "z", start
            continue
        tenths = [round(10 * float(number)) for number in numbers.split()]
        steps = [value - pen[k % 2] for k, value in enumerate(tenths)]
        written += command.lower() + " ".join(f"{step / 10:g}" for step in steps)
        pen = (tenths[-2], tenths[-1])
        if command == "M":
            start = pen
    return written.replace(" -", "-")
