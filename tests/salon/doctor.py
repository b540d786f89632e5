"""Settings and questions that the tests of the doctor share."""

from pathlib import Path

import pytest
from pytest_django import Settings

from salon.doctor import Finding, Weight


@pytest.fixture
def production(settings: Settings, tmp_path: Path) -> Settings:
    """Settings as a salon has them that did everything."""
    settings.MODE = "production"
    settings.SITE_URL = "https://salon.example"
    settings.ALLOWED_HOSTS = ["salon.example"]
    settings.SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
    settings.PROXY_COUNT = 1
    settings.MEDIA_ROOT = tmp_path / "media"
    settings.ANCHOR_DIR = str(tmp_path)
    settings.ERASURE_LIST = str(tmp_path / "erasures.jsonl")
    settings.BACKUP_DIR = str(tmp_path)
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    return settings


def of_subject(found: list[Finding], subject: str) -> list[tuple[str, str]]:
    return [(one.weight.value, one.sentence) for one in found if one.subject == subject]


def only(found: list[Finding], weight: Weight, words: str, remedy: str) -> None:
    """Say that exactly one finding has this weight, and what it says."""
    (one,) = [each for each in found if each.weight is not Weight.FINE]
    assert one.weight is weight
    assert words in one.sentence
    assert remedy in one.remedy
