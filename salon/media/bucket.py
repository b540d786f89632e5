"""A bucket of an object store that speaks the S3 protocol.

Imported where `MEDIA_STORAGE` names one: the library is a large one.
"""

from collections.abc import Iterator
from typing import Any

from botocore.config import Config
from django.core.files.base import ContentFile
from storages.backends.s3 import S3Storage

from salon.media import Stored


class Bucket(S3Storage):  # type: ignore[misc]
    """Private objects without addresses; the service reads and passes them on."""

    def __init__(self, **options: Any) -> None:
        super().__init__(**options)
        # A store that does not answer must not keep the few threads of the service.
        patience = Config(connect_timeout=5, read_timeout=20, retries={"max_attempts": 2})
        self.client_config: Config = self.client_config.merge(patience)

    def __str__(self) -> str:
        return f"the bucket {self.bucket_name}"

    def get_default_settings(self) -> dict[str, Any]:
        """Return what holds for every bucket of this product."""
        return {
            **super().get_default_settings(),
            "default_acl": "private",
            "file_overwrite": False,
            "querystring_auth": False,
            # What is read here is encrypted already: a picture stays in memory, a prepared file
            # goes through the disk.
            "max_memory_size": 8 * 1024 * 1024,
            "object_parameters": {"ContentType": "application/octet-stream"},
        }

    def url(self, name: str, *args: Any, **kwargs: Any) -> str:
        """Refuse: a signed address would open a picture to whoever has it."""
        raise ValueError("Pictures have no address of their own.")

    def files(self, prefix: str = "") -> Iterator[Stored]:
        """Yield every object, a thousand with each question to the store."""
        start = self._normalize_name(prefix)
        start = f"{start.rstrip('/')}/" if start else ""
        skip = len(self.location.rstrip("/") + "/") if self.location else 0
        for found in self.bucket.objects.filter(Prefix=start):
            yield Stored(found.key[skip:], found.last_modified)

    def replace(self, name: str, content: bytes) -> None:
        """Put over it, which the store does as one step."""
        self._save(name, ContentFile(content))
