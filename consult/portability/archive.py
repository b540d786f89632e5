"""The file that a client takes along: a page to read, the data with their schema, photos."""

import contextlib
import datetime as dt
import json
import zipfile
from collections.abc import Mapping
from typing import IO

from clients import selectors as desk
from clients.models import Client
from clients.photos import store
from consult.paper.pdf import Paper, printed_paper
from consult.portability.collect import everything_about, schema
from salon import languages
from salon.files.progress import Progress

PAGE = Paper("cards/everything.html", flows=True)


def write_archive(
    client: Client, out: IO[bytes], *, at: dt.datetime, progress: Progress
) -> None:
    """Write everything about a client as one ZIP file, worded in their language."""
    photos = desk.stored_photos(client=client)
    with (
        languages.speaking(client.speaks(client.salon)),
        zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive,
    ):
        archive.writestr("read-me.pdf", printed_paper(PAGE, _page(client, at)).content)
        data = everything_about(client, at=at)
        archive.writestr("data.json", json.dumps(data, ensure_ascii=False, indent=1))
        archive.writestr("schema.json", json.dumps(schema(), ensure_ascii=False, indent=1))
        progress.add(1 + _visits(data))
        for photo in progress.over(photos):
            with contextlib.suppress(FileNotFoundError):
                name = f"photos/{photo.pk}.jpg"
                archive.writestr(name, store.read(photo), zipfile.ZIP_STORED)


def _visits(data: Mapping[str, object]) -> int:
    """Return how many visits the file tells of."""
    rows = data["visit"]
    return len(rows) if isinstance(rows, list) else 0


def _page(client: Client, at: dt.datetime) -> dict[str, object]:
    return {
        "client": client,
        "salon": client.salon,
        "at": at,
        "consents": desk.consent_lines(client=client),
        "tests": desk.patch_history(client=client),
        "alerts": desk.alerts_in_force(client=client),
        "timeline": desk.client_timeline(client=client),
        "photos": len(desk.stored_photos(client=client)),
    }
