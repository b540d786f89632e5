"""An authenticator in software (WebAuthn Level 3, section 6): keys and signatures by
`cryptography`, bytes put together after the standard and not by the library under test."""

import base64
import hashlib
import json
import os
import struct
from typing import Any

from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.hashes import SHA256

UP, UV, AT = 0x01, 0x04, 0x40


def b64(data: bytes) -> str:
    """Return bytes as base64url without padding."""
    return base64.urlsafe_b64encode(data).rstrip(b"=").decode()


def unb64(text: str) -> bytes:
    """Return the bytes of base64url."""
    return base64.urlsafe_b64decode(text + "=" * (-len(text) % 4))


class Authenticator:
    """One passkey on one device; what it does wrong is asked for by name."""

    def __init__(self, origin: str) -> None:
        self.origin, self.counter = origin, 0
        self.flags = UP | UV
        self.key = ec.generate_private_key(ec.SECP256R1())
        self.credential_id = os.urandom(32)
        self.user_handle = b""

    def make(self, options: dict[str, Any]) -> str:
        """Answer `navigator.credentials.create` as a browser's script sends it."""
        wanted = options["publicKey"]
        self.user_handle = unb64(wanted["user"]["id"])
        point = self.key.public_key().public_numbers()
        # COSE_Key, RFC 9053, 2.1 and 7.1.1: EC2, ES256, P-256, x, y.
        cose = (
            b"\xa5\x01\x02\x03\x26\x20\x01\x21\x58\x20" + point.x.to_bytes(32, "big")
            + b"\x22\x58\x20" + point.y.to_bytes(32, "big")
        )  # fmt: skip
        attested = bytes(16) + struct.pack(">H", 32) + self.credential_id + cose
        data = self._data(wanted["rp"]["id"], self.flags | AT) + attested
        # {"fmt": "none", "attStmt": {}, "authData": data} in CBOR (RFC 8949).
        attestation = (
            b"\xa3\x63fmt\x64none\x67attStmt\xa0\x68authData\x58" + bytes([len(data)]) + data
        )
        client = self._client("webauthn.create", wanted["challenge"])
        return self._response(clientDataJSON=client, attestationObject=attestation)

    def sign(self, options: dict[str, Any], *, counter: int | None = None) -> str:
        """Answer `navigator.credentials.get`; the counter goes on by one unless it is given."""
        wanted = options["publicKey"]
        self.counter = self.counter + 1 if counter is None else counter
        data = self._data(wanted["rpId"], self.flags)
        client = self._client("webauthn.get", wanted["challenge"])
        signature = self.key.sign(data + hashlib.sha256(client).digest(), ec.ECDSA(SHA256()))
        return self._response(
            clientDataJSON=client,
            authenticatorData=data,
            signature=signature,
            userHandle=self.user_handle,
        )

    def _data(self, rp_id: str, flags: int) -> bytes:
        rp = hashlib.sha256(rp_id.encode()).digest()
        return rp + bytes([flags]) + struct.pack(">I", self.counter)

    def _client(self, kind: str, challenge: str) -> bytes:
        said = {"type": kind, "challenge": challenge, "origin": self.origin}
        return json.dumps(said).encode()

    def _response(self, **parts: bytes) -> str:
        name = b64(self.credential_id)
        response = {key: b64(value) for key, value in parts.items()}
        return json.dumps(
            {"id": name, "rawId": name, "type": "public-key", "response": response}
        )
