"""Time stamps by an outside authority (RFC 3161): that a text existed at a moment.

Asked over HTTP (RFC 3161, 3.4) where `TIMESTAMP_URL` is set. An answer counts only if it is
signed by an authority that `TIMESTAMP_CERTIFICATES` vouches for: a PEM file with the
authority's root certificate, and those between if the answer does not bring them.
"""

import datetime as dt
import urllib.request
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.error import URLError

from cryptography import x509
from django.conf import settings

if TYPE_CHECKING:
    from rfc3161_client import TimeStampResponse, VerifierBuilder

TIMEOUT = 20  # seconds
LARGEST = 256 * 1024  # bytes of an answer


class StampRefused(OSError):
    """Raised with the reason why a time stamp is missing or invalid."""


def is_set() -> bool:
    """Return whether an authority is to be asked."""
    return bool(settings.TIMESTAMP_URL)


def stamp(text: bytes) -> bytes:
    """Return the authority's answer about a text, after it was verified.

    Raises
    ------
    StampRefused
        If it cannot be reached, refuses, or answers something else than was asked.
    """
    from rfc3161_client import (
        HashAlgorithm,
        TimestampRequestBuilder,
        VerifierBuilder,
        decode_timestamp_response,
    )

    request = (
        TimestampRequestBuilder()
        .data(text)
        .hash_algorithm(HashAlgorithm.SHA512)
        .nonce(nonce=True)
        .cert_request(cert_request=True)
        .build()
    )
    answer = _ask(request.as_bytes())
    try:
        response = decode_timestamp_response(answer)
    except ValueError as error:
        raise StampRefused(f"The answer is not a time stamp: {error}") from error
    _check(response, text, VerifierBuilder.from_request(request))
    return answer


def stamped_at(answer: bytes, text: bytes) -> dt.datetime:
    """Return when an authority saw a text, by its answer of then.

    Raises
    ------
    StampRefused
        If the answer is about another text, or no known authority has signed it.
    """
    from rfc3161_client import VerifierBuilder, decode_timestamp_response

    try:
        response = decode_timestamp_response(answer)
    except ValueError as error:
        raise StampRefused(f"This is not a time stamp: {error}") from error
    _check(response, text, VerifierBuilder())
    return response.tst_info.gen_time


def _ask(request: bytes) -> bytes:
    if not settings.TIMESTAMP_URL.startswith(("http://", "https://")):
        raise StampRefused("TIMESTAMP_URL is no http address.")
    question = urllib.request.Request(  # noqa: S310 - its scheme was looked at
        settings.TIMESTAMP_URL,
        data=request,
        headers={"Content-Type": "application/timestamp-query"},
    )
    try:
        with urllib.request.urlopen(question, timeout=TIMEOUT) as answer:  # noqa: S310
            content: bytes = answer.read(LARGEST)
    except URLError as error:
        raise StampRefused(f"The time-stamp authority cannot be reached: {error}") from error
    return content


def _check(response: "TimeStampResponse", text: bytes, builder: "VerifierBuilder") -> None:
    from rfc3161_client import VerificationError

    for certificate in _certificates():
        if certificate.issuer == certificate.subject:
            builder = builder.add_root_certificate(certificate)
        else:
            builder = builder.add_intermediate_certificate(certificate)
    try:
        builder.build().verify_message(response, text)
    except (VerificationError, ValueError) as error:
        raise StampRefused(f"The time stamp does not hold: {error}") from error


def _certificates() -> list[x509.Certificate]:
    if not settings.TIMESTAMP_CERTIFICATES:
        raise StampRefused("TIMESTAMP_CERTIFICATES names no certificates to verify with.")
    try:
        content = Path(settings.TIMESTAMP_CERTIFICATES).read_bytes()
        return x509.load_pem_x509_certificates(content)
    except (OSError, ValueError) as error:
        raise StampRefused(f"TIMESTAMP_CERTIFICATES cannot be read: {error}") from error
