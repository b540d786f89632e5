"""Every script and style sheet is in a bundle, and a bundle is its sources."""

import re
from pathlib import Path

import pytest
from django.conf import settings
from django.contrib.staticfiles import finders
from django.test import Client as Browser

from salon import bundles

STATIC = settings.BASE_DIR / "static"
# Loaded by themselves: before the first paint, for a medium, on paper, on one page, elsewhere.
ALONE = {
    "js/theme.js", "js/service_worker.js", "js/offline.js", "css/print.css", "css/forced.css",
    "css/card.css", "css/print-fonts.css", "css/component_gallery.css",
}  # fmt: skip


def test_every_file_is_in_a_bundle_or_loaded_by_itself() -> None:
    bundled = {source for sources in bundles.BUNDLES.values() for source in sources}
    own = {
        path.relative_to(STATIC).as_posix()
        for folder in ("js", "css")
        for path in (STATIC / folder).iterdir()
    }

    assert own - bundled == ALONE


@pytest.mark.parametrize("path", bundles.BUNDLES)
def test_a_bundle_is_found_and_follows_its_sources(path: str) -> None:
    file = Path(str(finders.find(path)))
    file.write_text("an older release's")

    assert Path(str(finders.find(path))).read_bytes() == bundles.joined(path)
    assert finders.find(path, find_all=True) == [str(file)]


def test_addresses_in_a_bundle_lead_to_files() -> None:
    for path in bundles.BUNDLES:
        for address in re.findall(r'url\("([^"]+)"\)', bundles.joined(path).decode()):
            assert (STATIC / "bundles" / address).resolve().is_file()


def test_a_missing_source_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(bundles.BUNDLES, "bundles/common.js", ("js/gone.js",))

    with pytest.raises(FileNotFoundError, match=r"js/gone\.js"):
        bundles.joined("bundles/common.js")


def test_a_page_is_compressed_and_padded_by_a_random_length(db: None) -> None:
    """The padding is Django's against BREACH: a file name of random length in the head."""
    answers = [
        Browser().get("/sign-in/", headers={"Accept-Encoding": "gzip"}) for _once in range(4)
    ]

    assert {answer.headers["Content-Encoding"] for answer in answers} == {"gzip"}
    assert len({answer.content[10:].split(b"\x00")[0] for answer in answers}) > 1
