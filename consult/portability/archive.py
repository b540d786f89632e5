"""The file that a client takes along: a page to read, the data with their schema, photos."""

import contextlib
import datetime as dt
import io
import json
import zipfile

from clients import selectors as desk
from clients.models import Client
from clients.photos import store
from consult.paper.pdf import Paper, printed_paper
from consult.portability.collect import everything_about, schema
from salon import languages

PAGE = Paper("cards/everything.html", flows=True)


def archive_of(client: Client, *, at: dt.datetime) -> bytes:
    """Return everything about a client as one ZIP file, worded in their language."""
    out = io.BytesIO()
    with (
        languages.speaking(client.speaks(client.salon)),
        zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive,
    ):
        archive.writestr("read-me.pdf", printed_paper(PAGE, _page(client, at)).content)
        data = everything_about(client, at=at)
        archive.writestr("data.json", json.dumps(data, ensure_ascii=False, indent=1))
        archive.writestr("schema.json", json.dumps(schema(), ensure_ascii=False, indent=1))
        for photo in desk.stored_photos(client=client):
            with contextlib.suppress(FileNotFoundError):
                name = f"photos/{photo.pk}.jpg"
                archive.writestr(name, store.read(photo), zipfile.ZIP_STORED)
    return out.getvalue()


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
