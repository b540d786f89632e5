"""One script and one style sheet per kind of page, joined from the files under static/.

A bundle is its sources one after the other, under bundles/ like any other static file: found by
`collectstatic`, by WhiteNoise and by the test server. A source that changed is in the bundle at
the next look. A page takes the common bundle and one of its kind.
"""

from collections.abc import Iterable, Iterator
from pathlib import Path
from tempfile import NamedTemporaryFile
from typing import Any

import rcssmin
import rjsmin
from django.conf import settings
from django.contrib.staticfiles import finders
from django.core.files.storage import FileSystemStorage

# Of every kind but the plain pages (sign-in, second factor, errors).
_PARTS_OF_A_PAGE = ("strand", "curve", "bench", "diary", "photos")
_TOOLS_OF_A_PAGE = ("find", "timer", "chime", "strands", "photos")

STYLES: dict[str, tuple[str, ...]] = {
    "common": (
        "tokens", "fonts", "base", "layout", "controls", "notices", "tablet", "records",
    ),
    "house": (*_PARTS_OF_A_PAGE, "desk", "formulary", "welcome"),
    "visit": (
        *_PARTS_OF_A_PAGE, "visit", "portrait", "tones", "welcome", "steps", "network",
    ),
}  # fmt: skip
SCRIPTS: dict[str, tuple[str, ...]] = {
    "common": (
        "worker", "lock", "pin", "passkey", "progress", "focus", "toast", "release", "dialog",
        "menu", "stepper", "vault", "print", "fill",
    ),
    "house": (*_TOOLS_OF_A_PAGE, "booking", "desk_draft", "diary"),
    # In the order in which they need each other.
    "visit": (
        *_TOOLS_OF_A_PAGE, "curve", "head", "signature", "undertone", "together", "pick-two",
        "network", "presence", "autosave", "send", "weigh", "turn", "hold",
    ),
}  # fmt: skip
VENDORED = {
    "common": ("django_htmx/htmx-2.min.js",),
    "visit": ("vendor/signature_pad/signature_pad-5.1.4.umd.min.js",),
}
BUNDLES: dict[str, tuple[str, ...]] = {
    **{
        f"bundles/{kind}.css": tuple(f"css/{name}.css" for name in names)
        for kind, names in STYLES.items()
    },
    **{
        f"bundles/{kind}.js": (
            *VENDORED.get(kind, ()),
            *(f"js/{name}.js" for name in names),
        )
        for kind, names in SCRIPTS.items()
    },
}


def joined(path: str) -> bytes:
    """Return the text of a bundle, without comments and indents.

    A source must lie one folder deep, as the bundle does: addresses in a style sheet are
    relative to it, and are not rewritten.
    """
    texts = [_source(source).read_text() for source in BUNDLES[path]]
    if path.endswith(".css"):
        return str(rcssmin.cssmin("\n".join(texts))).encode()
    # A script without its last semicolon must not run into the next one's bracket.
    return str(rjsmin.jsmin("\n;".join(texts))).encode()


def _source(path: str) -> Path:
    found = finders.find(path)
    if not found:
        raise FileNotFoundError(path)
    return Path(found)


class BundleFinder(finders.BaseFinder):
    """Finds the bundles, which it writes into a folder of this installation."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        self.storage = FileSystemStorage(location=settings.VAR_DIR)

    def find(self, path: str, find_all: bool = False, **kwargs: Any) -> Any:
        """Return the file of a bundle, written now if a source has changed."""
        if path not in BUNDLES:
            return []
        file = str(self._written(path))
        return [file] if find_all else file

    def list(
        self, ignore_patterns: Iterable[str] | None
    ) -> Iterator[tuple[str, FileSystemStorage]]:
        """Yield every bundle, written."""
        for path in BUNDLES:
            self._written(path)
            yield path, self.storage

    def _written(self, path: str) -> Path:
        file, text = Path(self.storage.path(path)), joined(path)
        if not file.exists() or file.read_bytes() != text:
            file.parent.mkdir(parents=True, exist_ok=True)
            # Two workers start at once: neither may serve half a file of the other's.
            with NamedTemporaryFile(dir=file.parent, delete=False) as half:
                half.write(text)
            half_written = Path(half.name)
            half_written.chmod(0o644)
            half_written.replace(file)
        return file
