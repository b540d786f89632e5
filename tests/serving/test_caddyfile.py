"""The proxy's own program reads its file, and says what it made of it."""

import json
import shutil
import subprocess
import tempfile
from typing import Any

import pytest

from tests.serving.installation import ROOT

CADDYFILE = ROOT / "salon" / "tools" / "Caddyfile"
WEB = {"SITE": "salon.example.com", "UPSTREAMS": "web:8000 web-2:8000"}


def _caddy(*words: str, **environment: str) -> subprocess.CompletedProcess[str]:
    program = shutil.which("caddy")
    if program is None:
        pytest.skip("caddy is not installed")
    return subprocess.run(
        [program, *words, "--adapter", "caddyfile", "--config", str(CADDYFILE)],
        env={"XDG_DATA_HOME": tempfile.gettempdir(), **environment},
        capture_output=True,
        text=True,
        check=False,
    )


def _found(tree: Any, key: str) -> list[Any]:
    """Return every value of a key, however deep."""
    if isinstance(tree, list):
        return [value for one in tree for value in _found(one, key)]
    if not isinstance(tree, dict):
        return []
    own = [tree[key]] if key in tree else []
    return own + [value for one in tree.values() for value in _found(one, key)]


@pytest.mark.parametrize("environment", [{}, WEB, {"SITE": "salon.local"}])
def test_caddy_finds_the_file_valid(environment: dict[str, str]) -> None:
    done = _caddy("validate", **environment)

    assert done.returncode == 0, done.stderr
    assert "Valid configuration" in done.stdout + done.stderr


def test_it_goes_to_both_services_whole_compressed_and_counts_no_idle_connection() -> None:
    read = json.loads(_caddy("adapt", **WEB).stdout)
    proxies = [one for one in _found(read, "handle") for one in one if "upstreams" in one]

    assert len(proxies) == 2  # over HTTPS, and the page of trust over plain HTTP
    for proxy in proxies:
        assert [one["dial"] for one in proxy["upstreams"]] == ["web:8000", "web-2:8000"]
        assert proxy["buffer_requests"] is True
        assert proxy["buffer_responses"] is True
        assert proxy["transport"]["keep_alive"] == {"enabled": False}
        assert proxy["health_checks"]["active"]["uri"] == "/readyz"
    assert all(found == ["h1", "h2"] for found in _found(read, "protocols"))
    assert _found(read, "protocols")
    assert _found(read, "encodings")[0] == {"gzip": {}, "zstd": {}}
    assert ["salon.example.com"] in _found(read, "host")
    assert read["admin"] == {"disabled": True}


def test_the_largest_file_that_the_product_takes_passes() -> None:
    """A smaller limit would refuse at the door what a page asks for."""
    from clients.photos.pictures import MOST_OCTETS

    read = json.loads(_caddy("adapt", **WEB).stdout)

    assert set(_found(read, "max_size")) == {32_000_000}
    assert MOST_OCTETS < 32_000_000
