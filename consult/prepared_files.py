"""The consultation's file: everything about a client."""

from typing import IO

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from clients import selectors as desk
from clients.models import Client
from clients.people import person
from clients.sealed import keys
from consult import services
from consult.models import Visit
from consult.portability.archive import write_archive
from salon.files import kinds
from salon.files.kinds import ZIP, FileRefused, FileRequest, Kind, owners_only
from salon.files.progress import Progress


def _client(wanted: FileRequest) -> Client:
    clients = Client.objects.for_salon(wanted.salon).select_related("salon")
    found = clients.filter(pk=wanted.arguments["client"]).first()
    if found is None:
        raise FileRefused(_("What it is about is no longer there."), code="gone")
    return person.root(found)


def _note_client(wanted: FileRequest) -> None:
    services.record_client_export(client=_client(wanted), by=wanted.by, at=wanted.at)


def _records(wanted: FileRequest) -> int:
    client = _client(wanted)
    visits = Visit.objects.filter(client__in=person.ids_of(client)).count()
    return 1 + visits + len(desk.stored_photos(client=client))


def _write_client(wanted: FileRequest, out: IO[bytes], progress: Progress) -> None:
    with keys.at_hand():
        write_archive(_client(wanted), out, at=wanted.at, progress=progress)


def _check_client(wanted: FileRequest) -> None:
    owners_only(wanted)
    _client(wanted)


def register() -> None:
    """Enter the kinds."""
    kinds.add(
        "client",
        Kind(
            label=gettext_lazy("Everything about a client"), content_type=ZIP,
            name=lambda wanted: f"client-{_client(wanted).pk}.zip", check=_check_client,
            note=_note_client, count=_records, write=_write_client, most_at_once=0,
        ),
    )  # fmt: skip
