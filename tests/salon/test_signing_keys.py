"""Keys under the sign-offs: where they come from, what refuses to start without one."""

import base64
import os
import subprocess
import sys
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.asymmetric import ed25519, rsa
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
)
from django.core import checks
from django.core.exceptions import ImproperlyConfigured
from pytest_django import Settings

from salon import signing_keys

ROOT = Path(__file__).resolve().parent.parent.parent


def _pem(key: ed25519.Ed25519PrivateKey | rsa.RSAPrivateKey) -> bytes:
    return key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())


def test_a_key_signs_as_rfc_8032_says(settings: Settings) -> None:
    """RFC 8032, 7.1, test 2: secret key, public key, message 72, signature."""
    secret = "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb"
    settings.SIGNING_KEY = base64.b64encode(bytes.fromhex(secret)).decode()

    signer = signing_keys.signer()

    assert signer.public.raw.hex() == (
        "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c"
    )
    signature = signer.sign(bytes.fromhex("72"))
    assert signature == (
        "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da"
        "085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00"
    )
    assert signer.public.is_signature(signature, b"r")
    assert not signer.public.is_signature(signature, b"s")
    assert not signer.public.is_signature("no hex", b"r")


def test_a_file_holds_the_key_in_base64_or_pem(settings: Settings, tmp_path: Path) -> None:
    key = ed25519.Ed25519PrivateKey.generate()
    settings.SIGNING_KEY = ""
    settings.SIGNING_KEY_FILE = str(tmp_path / "key")

    (tmp_path / "key").write_bytes(base64.b64encode(key.private_bytes_raw()) + b"\n")
    from_base64 = signing_keys.signer().public
    (tmp_path / "key").write_bytes(_pem(key))

    assert signing_keys.signer().public == from_base64
    assert from_base64.raw == key.public_key().public_bytes_raw()


@pytest.mark.parametrize(
    "content",
    [
        b"too short",
        b"",
        base64.b64encode(b"x" * 31),
        b"-----BEGIN nothing",
        _pem(rsa.generate_private_key(65537, 2048)),
    ],
)
def test_what_is_no_key_is_refused_by_its_name(
    settings: Settings, tmp_path: Path, content: bytes
) -> None:
    (tmp_path / "odd-key").write_bytes(content)
    settings.SIGNING_KEY = ""
    settings.SIGNING_KEY_FILE = str(tmp_path / "odd-key")

    with pytest.raises(ImproperlyConfigured, match="odd-key"):
        signing_keys.signer()


def test_former_keys_come_before_the_current_one(settings: Settings) -> None:
    former = signing_keys.signer().public
    settings.FORMER_SIGNING_KEYS = [former.text]
    settings.SIGNING_KEY = base64.b64encode(b"n" * 32).decode()

    known = signing_keys.known()

    assert known == [former, signing_keys.signer().public]
    assert len({key.key_id for key in known}) == 2
    assert len(former.key_id) == 16


def test_this_machine_makes_a_key_once_and_says_so(
    settings: Settings, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    settings.SIGNING_KEY, settings.LOCAL = "", True
    settings.SIGNING_KEY_FILE = str(tmp_path / "var" / "signing-key")

    made = signing_keys.signer().public

    assert "signing-key" in caplog.text
    assert signing_keys.signer().public == made
    assert (tmp_path / "var" / "signing-key").stat().st_mode & 0o777 == 0o600
    assert list((tmp_path / "var").iterdir()) == [tmp_path / "var" / "signing-key"]
    assert signing_keys.make(tmp_path / "var" / "signing-key") == made


def test_production_makes_none(settings: Settings, tmp_path: Path) -> None:
    settings.SIGNING_KEY, settings.LOCAL = "", False
    settings.SIGNING_KEY_FILE = str(tmp_path / "signing-key")

    with pytest.raises(ImproperlyConfigured, match="cannot be read"):
        signing_keys.signer()
    assert not (tmp_path / "signing-key").exists()


def _start(**environment: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", "import salon.wsgi"],
        cwd=ROOT,
        env={
            "PATH": os.environ["PATH"],
            "SALON_MODE": "production",
            "SECRET_KEY": "x" * 50,
            "ALLOWED_HOSTS": "salon.example",
            **environment,
        },
        capture_output=True,
        text=True,
        check=False,
    )


def test_production_does_not_start_without_its_keys() -> None:
    key = base64.b64encode(b"k" * 32).decode()
    refused = _start()
    assert refused.returncode != 0
    assert "SIGNING_KEY" in refused.stderr
    assert "No key closes what is stored" in _start(SIGNING_KEY=key).stderr

    started = _start(SIGNING_KEY=key, STORAGE_KEY=key)
    assert (started.returncode, started.stderr) == (0, "")


def _found() -> list[str]:
    faults = checks.run_checks(tags=["security"], include_deployment_checks=True)
    return [fault.id for fault in faults if fault.id in {"salon.E003", "salon.W002"}]


def test_the_deployment_check_looks_at_the_key(settings: Settings, tmp_path: Path) -> None:
    file = tmp_path / "key"
    settings.SIGNING_KEY_FILE = str(file)
    assert _found() == []
    settings.LOCAL, settings.SIGNING_KEY = False, ""
    assert _found() == ["salon.E003"]

    signing_keys.make(file)
    assert _found() == []
    file.chmod(0o640)
    assert _found() == ["salon.W002"]
    file.chmod(0o600)
    settings.FORMER_SIGNING_KEYS = ["not a key"]
    assert _found() == ["salon.E003"]
