"""Files encrypted in pieces: nothing of them can be changed, exchanged or cut off."""

import base64
import io
import os
from collections.abc import Callable
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from django.core.management import CommandError, call_command
from pytest_django import Settings

from salon import encrypted_file, storage_key
from salon.encrypted_file import PIECE, Damaged

HEAD, TAG = 32, 16
LENGTHS = [0, 1, PIECE - 1, PIECE, PIECE + 1, 2 * PIECE, 2 * PIECE + 7]


def _closed(content: bytes) -> bytes:
    out = io.BytesIO()
    with encrypted_file.Writer(out) as closed:
        closed.write(content[:5])
        closed.write(content[5:])
    return out.getvalue()


def _opened(content: bytes) -> bytes:
    return b"".join(encrypted_file.pieces(io.BytesIO(content)))


@pytest.mark.parametrize("length", LENGTHS)
def test_what_goes_in_comes_out(length: int) -> None:
    content = os.urandom(length)
    closed = _closed(content)

    assert _opened(closed) == content
    assert len(closed) == HEAD + length + TAG * max(1, -(-length // PIECE))


def test_a_piece_is_aes_gcm_as_the_head_says() -> None:
    """Opened here by the library alone, after the format's description."""
    closed = _closed(b"a dump")
    head, body = closed[:HEAD], closed[HEAD:]
    key = storage_key.derived(storage_key.current(), "backup")
    nonce = head[24:31] + (0).to_bytes(4) + b"\1"

    assert AESGCM(key).decrypt(nonce, body, head) == b"a dump"


@pytest.mark.parametrize(
    "fault",
    [
        lambda c: c[:-1],
        lambda c: c[: HEAD + PIECE + TAG],  # the last piece is gone
        lambda c: c[:HEAD] + c[HEAD + PIECE + TAG :],  # the first one is
        lambda c: c[:40] + bytes([c[40] ^ 1]) + c[41:],
        lambda c: c[:24] + bytes([c[24] ^ 1]) + c[25:],
        lambda c: c + b"x",
        lambda c: b"PK" + c,
        lambda c: b"",
    ],
)
def test_every_change_is_found(fault: Callable[[bytes], bytes]) -> None:
    closed = _closed(os.urandom(2 * PIECE + 7))

    with pytest.raises(Damaged):
        _opened(fault(closed))


def test_a_former_key_opens_and_a_lost_one_is_named(settings: Settings) -> None:
    closed, former = _closed(b"a dump"), settings.STORAGE_KEY
    settings.STORAGE_KEY = base64.b64encode(b"n" * 32).decode()

    with pytest.raises(storage_key.KeyLost, match=closed[8:24].decode()):
        _opened(closed)
    settings.FORMER_STORAGE_KEYS = [former]
    assert _opened(closed) == b"a dump"


def test_the_command_encrypts_a_dump_and_gives_it_back(tmp_path: Path) -> None:
    (tmp_path / "dump").write_bytes(b"rows of a salon")

    call_command("encrypted_file", tmp_path / "dump", tmp_path / "closed")
    call_command("encrypted_file", tmp_path / "closed", tmp_path / "open", open=True)

    assert b"rows" not in (tmp_path / "closed").read_bytes()
    assert (tmp_path / "open").read_bytes() == b"rows of a salon"
    assert (tmp_path / "closed").stat().st_mode & 0o077 == 0
    with pytest.raises(CommandError, match="no file that was encrypted here"):
        call_command("encrypted_file", tmp_path / "dump", tmp_path / "more", open=True)
    assert not list(tmp_path.glob("more*"))
