"""Connections that say nothing keep nobody waiting."""

import re
import socket
import subprocess
import sys
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[2]
SILENT = 40


def app(environ: dict[str, Any], start_response: Callable[..., Any]) -> list[bytes]:
    """Answer like /healthz, without the rest of the product."""
    start_response("200 OK", [("Content-Length", "2")])
    return [b"ok"]


@pytest.fixture
def port() -> Iterator[int]:
    """A server as the product's configuration runs it, with two threads."""
    process = subprocess.Popen(
        [
            sys.executable, "-m", "gunicorn", "tests.salon.test_silent_sockets:app",
            "-c", "salon/gunicorn.py", "--bind", "127.0.0.1:0", "--workers", "1",
            "--threads", "2",
        ],
        cwd=ROOT, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert process.stderr is not None
    for line in process.stderr:
        if found := re.search(r"Listening at: http://127\.0\.0\.1:(\d+)", line):
            yield int(found.group(1))
            break
    process.terminate()
    process.stderr.close()
    process.wait()


@pytest.mark.slow
def test_forty_silent_sockets_do_not_hold_a_question_up(port: int) -> None:
    """It is answered while all of them are still open: none had to be closed for it."""
    with ExitStack() as opened:
        silent = [
            opened.enter_context(socket.create_connection(("127.0.0.1", port)))
            for _n in range(SILENT)
        ]

        answer = urllib.request.urlopen(f"http://127.0.0.1:{port}/healthz").read()

        for one in silent:
            one.setblocking(False)
            with pytest.raises(BlockingIOError):  # open, and nothing to read
                one.recv(1)
    assert answer == b"ok"
