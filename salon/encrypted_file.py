"""Whole files encrypted in pieces: backups, dumps, anything that leaves the machine.

A file is a head of 32 bytes ("SALONBK1", the name of the key in 16 hex digits, a random prefix
of 7 bytes, a zero) and pieces of a megabyte under AES-256-GCM. A piece's nonce is the prefix,
its number in four bytes and one byte that says whether it is the last: pieces can neither be
exchanged nor cut off (STREAM: Hoang, Reyhanitabar, Rogaway and Vizar, "Online authenticated-
encryption and its nonce-reuse misuse-resistance", CRYPTO 2015). The head is authenticated too.
"""

import io
import os
from collections.abc import Iterator
from typing import IO

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM

from salon import storage_key

MARK = b"SALONBK1"
PIECE = 1024 * 1024
_NAME, _PREFIX, _TAG = 16, 7, 16
_HEAD = len(MARK) + _NAME + _PREFIX + 1


class Damaged(ValueError):
    """Raised where a file is none of ours, was changed, or was cut off."""


class Writer(io.RawIOBase):
    """Takes plain bytes, writes encrypted ones; `close` ends the file, not the stream below."""

    def __init__(self, out: IO[bytes]) -> None:
        key, prefix = storage_key.current(), os.urandom(_PREFIX)
        self._head = MARK + storage_key.name_of(key).encode() + prefix + b"\0"
        self._box, self._prefix, self._number = _box(key), prefix, 0
        self._out, self._waiting = out, bytearray()
        out.write(self._head)

    def writable(self) -> bool:
        return True

    def write(self, content: bytes) -> int:  # type: ignore[override]
        self._waiting += content
        while len(self._waiting) > PIECE:  # the last piece is known at the end only
            self._put(bytes(self._waiting[:PIECE]), is_last=False)
            del self._waiting[:PIECE]
        return len(content)

    def close(self) -> None:
        if not self.closed:
            self._put(bytes(self._waiting), is_last=True)
        super().close()

    def _put(self, piece: bytes, *, is_last: bool) -> None:
        nonce = _nonce(self._prefix, self._number, is_last=is_last)
        self._out.write(self._box.encrypt(nonce, piece, self._head))
        self._number += 1


def pieces(source: IO[bytes]) -> Iterator[bytes]:
    """Yield what an encrypted file holds, each piece verified before it is given.

    Raises
    ------
    Damaged
        If it is no such file, or not as it was written.
    salon.storage_key.KeyLost
        If its key is not at hand.
    """
    head = source.read(_HEAD)
    if len(head) < _HEAD or not head.startswith(MARK):
        raise Damaged("This is no file that was encrypted here.")
    box, prefix = _box(_key_named(head)), head[-_PREFIX - 1 : -1]
    piece, number = source.read(PIECE + _TAG), 0
    while True:
        following = source.read(PIECE + _TAG)
        try:
            yield box.decrypt(_nonce(prefix, number, is_last=not following), piece, head)
        except InvalidTag:
            raise Damaged("This file was changed or cut off.") from None
        if not following:
            return
        piece, number = following, number + 1


def is_encrypted(start: bytes) -> bool:
    """Return whether a file that begins so was encrypted here."""
    return start.startswith(MARK)


def _key_named(head: bytes) -> bytes:
    name = head[len(MARK) : len(MARK) + _NAME].decode("ascii", "replace")
    for key in storage_key.known():
        if storage_key.name_of(key) == name:
            return key
    raise storage_key.KeyLost(
        f"This file was encrypted under the storage key {name}, which is not set."
    )


def _box(key: bytes) -> AESGCM:
    return AESGCM(storage_key.derived(key, "backup"))


def _nonce(prefix: bytes, number: int, *, is_last: bool) -> bytes:
    return prefix + number.to_bytes(4) + bytes([is_last])
