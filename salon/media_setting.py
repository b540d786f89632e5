"""Reads the setting MEDIA_STORAGE; imported by the settings themselves."""

from typing import Any
from urllib.parse import parse_qs, unquote, urlsplit

Backend = dict[str, Any]


class NoPlace(ValueError):
    """Raised when MEDIA_STORAGE cannot be understood."""


def backend(address: str) -> Backend:
    """Return Django's STORAGES entry: the folder, or `s3://key:secret@bucket/folder?...`.

    Behind the question mark: `endpoint` (address of the store), `region`, `style=path` where
    the store does not give each bucket a host name. Key and secret may be left to what the
    machine itself grants.
    """
    if not address:
        return {"BACKEND": "salon.media.folder.Folder"}
    parts = urlsplit(address)
    if parts.scheme != "s3" or not parts.hostname:
        raise NoPlace("MEDIA_STORAGE has the form s3://key:secret@bucket?endpoint=https://...")
    query = {name: values[-1] for name, values in parse_qs(parts.query).items()}
    if odd := query.keys() - {"endpoint", "region", "style"}:
        raise NoPlace(f"MEDIA_STORAGE does not know {', '.join(sorted(odd))}.")
    options = {
        "bucket_name": parts.hostname,
        "location": parts.path.strip("/"),
        "endpoint_url": query.get("endpoint"),
        "region_name": query.get("region"),
        "addressing_style": query.get("style", "auto"),
        "access_key": unquote(parts.username) if parts.username else None,
        "secret_key": unquote(parts.password) if parts.password else None,
    }
    given = {name: value for name, value in options.items() if value}
    return {"BACKEND": "salon.media.bucket.Bucket", "OPTIONS": given}
