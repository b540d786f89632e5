"""colour-science, imported where it is first used: it takes half a second."""

import warnings
from functools import cache
from typing import Any


@cache
def colour_science() -> Any:
    """Return the module; its note that plots need Matplotlib is left out."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour
    return colour
