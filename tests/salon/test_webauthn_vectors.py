"""The published test vectors of WebAuthn Level 3 (W3C Candidate Recommendation, section 16).

Section 16.1 names the relying party `example.org` and its origin. 16.2: ES256 without
attestation, made and signed without verification of the user. 16.3: ES256 with self
attestation, made with verification. A salon asks for verification always, so what was signed
without it is refused here, and for no other reason: with that demand lifted it holds.
"""

import json
from importlib import import_module

import pytest
from django.conf import settings as product
from django.http import HttpRequest
from django.test import RequestFactory
from django.utils import timezone
from fido2.webauthn import UserVerificationRequirement
from pytest_django import Settings

from salon.models import Passkey, Staff
from salon.passkeys import ceremony
from tests.authenticator import b64
from tests.typed import present

# 16.2, none.ES256
NONE_CHALLENGE = "00c30fb78531c464d2b6771dab8d7b603c01162f2fa486bea70f283ae556e130"
NONE_CLIENT = (
    "7b2274797065223a22776562617574686e2e637265617465222c226368616c6c656e6765223a22414d4d507434"
    "557878475453746e63647134313759447742466938767049612d7077386f4f755657345441222c226f72696769"
    "6e223a2268747470733a2f2f6578616d706c652e6f7267222c2263726f73734f726967696e223a66616c73652c"
    "22657874726144617461223a22636c69656e74446174614a534f4e206d617920626520657874656e6465642077"
    "697468206164646974696f6e616c206669656c647320696e20746865206675747572652c207375636820617320"
    "746869733a20426b5165446a646354427258426941774a544c453551227d"
)
NONE_ATTESTATION = (
    "a363666d74646e6f6e656761747453746d74a068617574684461746158a4bfabc37432958b063360d3ad6461c9"
    "c4735ae7f8edd46592a5e0f01452b2e4b559000000008446ccb9ab1db374750b2367ff6f3a1f0020f91f391db4"
    "c9b2fde0ea70189cba3fb63f579ba6122b33ad94ff3ec330084be4a5010203262001215820afefa16f97ca9b2d"
    "23eb86ccb64098d20db90856062eb249c33a9b672f26df61225820930a56b87a2fca66334b03458abf879717c1"
    "2cc68ed73290af2e2664796b9220"
)
NONE_ID = "f91f391db4c9b2fde0ea70189cba3fb63f579ba6122b33ad94ff3ec330084be4"
NONE_SIGN_CHALLENGE = "39c0e7521417ba54d43e8dc95174f423dee9bf3cd804ff6d65c857c9abf4d408"
NONE_SIGN_DATA = "bfabc37432958b063360d3ad6461c9c4735ae7f8edd46592a5e0f01452b2e4b51900000000"
NONE_SIGN_CLIENT = (
    "7b2274797065223a22776562617574686e2e676574222c226368616c6c656e6765223a224f63446e5568515875"
    "6c5455506f334a5558543049393770767a7a59425039745a63685879617630314167222c226f726967696e223a"
    "2268747470733a2f2f6578616d706c652e6f7267222c2263726f73734f726967696e223a66616c73657d"
)
NONE_SIGNATURE = (
    "3046022100f50a4e2e4409249c4a853ba361282f09841df4dd4547a13a87780218deffcd380221008480ac0f0b"
    "93538174f575bf11a1dd5d78c6e486013f937295ea13653e331e87"
)
# 16.3, packed-self.ES256
SELF_CLIENT = (
    "7b2274797065223a22776562617574686e2e637265617465222c226368616c6c656e6765223a2265476e437433"
    "4c55745936366b336a506a796e6962506b31716e666644616966715a774c33417032392d55222c226f72696769"
    "6e223a2268747470733a2f2f6578616d706c652e6f7267222c2263726f73734f726967696e223a66616c73652c"
    "22657874726144617461223a22636c69656e74446174614a534f4e206d617920626520657874656e6465642077"
    "697468206164646974696f6e616c206669656c647320696e20746865206675747572652c207375636820617320"
    "746869733a205539685458764b453255526b4d6e625f3078594856673d3d227d"
)
SELF_ATTESTATION = (
    "a363666d74667061636b65646761747453746d74a263616c67266373696758483046022100ae045923ded832b8"
    "44cae4d5fc864277c0dc114ad713e271af0f0d371bd3ac540221009077a088ed51a673951ad3ba2673d5029bab"
    "65b64f4ea67b234321f86fcfac5d68617574684461746158a4bfabc37432958b063360d3ad6461c9c4735ae7f8"
    "edd46592a5e0f01452b2e4b55d00000000df850e09db6afbdfab51697791506cfc0020455ef34e2043a87db3d4"
    "afeb39bbcb6cc32df9347c789a865ecdca129cbef58ca5010203262001215820eb151c8176b225cc651559fecf"
    "07af450fd85802046656b34c18f6cf193843c5225820927b8aa427a2be1b8834d233a2d34f61f13bfd44119c32"
    "5d5896e183fee484f2"
)
SELF_ID = "455ef34e2043a87db3d4afeb39bbcb6cc32df9347c789a865ecdca129cbef58c"


@pytest.fixture(autouse=True)
def example_org(settings: Settings) -> None:
    settings.LOCAL, settings.SITE_URL = False, "https://example.org"
    settings.ALLOWED_HOSTS, settings.CSRF_TRUSTED_ORIGINS = ["example.org"], []


@pytest.fixture
def request_(db: None) -> HttpRequest:
    request = RequestFactory().get("/")
    request.session = import_module(product.SESSION_ENGINE).SessionStore()
    return request


def _began(request: HttpRequest, kind: str, challenge: str, staff: int, verified: bool) -> None:
    """Let a ceremony have begun with the challenge of a vector."""
    wanted = UserVerificationRequirement.REQUIRED if verified else "discouraged"
    request.session[ceremony.KEY] = {
        "kind": kind,
        "state": {"challenge": challenge, "user_verification": str(wanted)},
        "at": timezone.now().timestamp(),
        "staff": staff,
        "handle": "",
    }


def _said(name: str, **parts: str) -> str:
    response = {key: b64(bytes.fromhex(value)) for key, value in parts.items()}
    name = b64(bytes.fromhex(name))
    return json.dumps({"id": name, "rawId": name, "type": "public-key", "response": response})


def _challenge_in(client: str) -> str:
    return str(json.loads(bytes.fromhex(client))["challenge"])


def _made(
    request: HttpRequest, staff: Staff, name: str, client: str, attestation: str
) -> object:
    _began(request, ceremony.MAKE, _challenge_in(client), staff.pk, verified=True)
    said = _said(name, clientDataJSON=client, attestationObject=attestation)
    return ceremony.finish_making(request, staff, said, at=timezone.now())


def test_the_credential_made_with_verification_is_taken(
    request_: HttpRequest, owner: Staff
) -> None:
    made = _made(request_, owner, SELF_ID, SELF_CLIENT, SELF_ATTESTATION)

    assert isinstance(made, ceremony.Registered)
    assert made.credential_id == b64(bytes.fromhex(SELF_ID))
    assert made.sign_count == 0
    changed = SELF_CLIENT.replace("6578616d706c65", "6578616d706c66")  # examplf.org
    assert _made(request_, owner, SELF_ID, changed, SELF_ATTESTATION) is None


def test_the_credential_made_without_verification_is_not(
    request_: HttpRequest, owner: Staff
) -> None:
    assert _made(request_, owner, NONE_ID, NONE_CLIENT, NONE_ATTESTATION) is None


@pytest.mark.parametrize("verified", [True, False])
def test_the_signature_holds_and_lacks_only_the_verification(
    request_: HttpRequest, owner: Staff, verified: bool
) -> None:
    assert _challenge_in(NONE_SIGN_CLIENT) == b64(bytes.fromhex(NONE_SIGN_CHALLENGE))
    assert _challenge_in(NONE_CLIENT) == b64(bytes.fromhex(NONE_CHALLENGE))
    # Attested credential data (6.5.1): what follows the 37 bytes of authenticator data.
    data = bytes.fromhex(NONE_ATTESTATION.partition("bfabc37432")[2])[37 - 5 :]
    passkey = Passkey(staff=owner, credential=b64(data), user_handle="")

    def signed(signature: str) -> int | None:
        challenge = _challenge_in(NONE_SIGN_CLIENT)
        _began(request_, ceremony.SIGN, challenge, owner.pk, verified)
        said = _said(
            NONE_ID,
            clientDataJSON=NONE_SIGN_CLIENT,
            authenticatorData=NONE_SIGN_DATA,
            signature=signature,
        )
        return ceremony.finish_signing(request_, passkey, said, at=timezone.now())

    assert signed(NONE_SIGNATURE) == (None if verified else 0)
    assert signed(NONE_SIGNATURE[:-2] + "88") is None
    assert present(passkey.credential)
