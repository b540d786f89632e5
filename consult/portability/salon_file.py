"""A whole salon in one encrypted file, and out of it into an installation without a salon.

Keys of rows stay what they are: what clients signed names them, so the chain of sign-offs goes
on being valid. The file holds a head, a table in each line-by-line JSON, and the photos; it is
encrypted in pieces by the storage key (`salon.encrypted_file`).
"""

import json
import tempfile
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import IO, Any, TypedDict

from django.core.management.color import no_style
from django.core.serializers.json import DjangoJSONEncoder
from django.db import connection, models, transaction
from django.db.migrations.recorder import MigrationRecorder

from clients.models import ClientKey, Photo, ReceivedRecord
from clients.photos import received, store
from clients.sealed import keys
from clients.sealed.fields import SealedTextField, sealed_fields
from consult.portability.salon_rows import APPS, Model, Row, made, paths, rows_of
from salon import encrypted_file, signing_keys, storage_key
from salon.models import Salon

FORMAT, VERSION = "salon-colour-record/salon", 1
_BATCH = 500


class Head(TypedDict):
    """What a file says of itself."""

    format: str
    version: int
    salon: int
    migrations: list[str]
    signing_keys: list[str]


class CannotImport(ValueError):
    """Raised with the reason why a file is not taken in."""


def write(salon: Salon, out: IO[bytes]) -> dict[str, int]:
    """Write a salon; return how many rows of each table."""
    counts = {}
    with (
        keys.at_hand(),
        encrypted_file.Writer(out) as closed,
        zipfile.ZipFile(closed, "w", zipfile.ZIP_DEFLATED) as archive,
    ):
        archive.writestr("salon.json", json.dumps(_head(salon), indent=1))
        for model, path in paths().items():
            label, count = model._meta.label, 0
            with archive.open(f"tables/{label}.jsonl", "w", force_zip64=True) as table:
                for row in rows_of(model, path, salon):
                    text = json.dumps(row, cls=DjangoJSONEncoder, ensure_ascii=False)
                    table.write(text.encode() + b"\n")
                    count += 1
            counts[label] = count
        for photo in _photos(salon):
            for size in store.SIZES:
                if store.exists(photo, size):
                    archive.writestr(_photo_name(photo, size), store.read(photo, size))
    return counts


def read(source: IO[bytes]) -> Salon:
    """Take a salon in, rows, photos and all, or nothing of it."""
    with tempfile.TemporaryFile() as plain:
        for piece in encrypted_file.pieces(source):
            plain.write(piece)
        with zipfile.ZipFile(plain) as archive, keys.at_hand(), transaction.atomic():
            head: Head = json.loads(archive.read("salon.json"))
            _check(head)
            _Reading(archive).read()
            salon = Salon.objects.get(pk=head["salon"])
            _reset_sequences()
    return salon


def _head(salon: Salon) -> Head:
    return {
        "format": FORMAT,
        "version": VERSION,
        "salon": salon.pk,
        "migrations": _migrations(),
        "signing_keys": [key.text for key in signing_keys.known()],
    }


def _check(head: Head) -> None:
    if head.get("format") != FORMAT or head.get("version") != VERSION:
        raise CannotImport("This is no file of a salon.")
    if head["migrations"] != _migrations():
        raise CannotImport("The file is of another release. Install the same one first.")
    if Salon.objects.exists():
        raise CannotImport("There is a salon already. Import into a new installation.")
    unknown = set(head["signing_keys"]) - {key.text for key in signing_keys.known()}
    if unknown:
        raise CannotImport(
            "Add to FORMER_SIGNING_KEYS, or its sign-offs cannot be verified: "
            + ",".join(text for text in head["signing_keys"] if text in unknown)
        )


class _Reading:
    """One file being taken in."""

    def __init__(self, archive: zipfile.ZipFile) -> None:
        self.archive = archive
        # By which sealed words find their client: visits, tests, appointments.
        self.leads: dict[Model, dict[int, dict[str, int]]] = {}

    def read(self) -> None:
        # Keys first: whatever else is closed by them.
        for model in sorted(paths(), key=lambda model: model is not ClientKey):
            self._read_table(model)
        for photo in _photos(Salon.objects.get()):
            for size in store.SIZES:
                name = _photo_name(photo, size)
                if name in self.archive.namelist():
                    store.put_file(photo, size, self.archive.read(name))

    def _read_table(self, model: Model) -> None:
        batch: list[models.Model] = []
        for row in self._lines(model):
            self.leads.setdefault(model, {})[row[model._meta.pk.attname]] = {
                name: row[name] for name in ("client_id", "visit_id") if name in row
            }
            one = made(model, row)
            if isinstance(one, ClientKey):
                one.wrapped = "" if one.destroyed_at else storage_key.wrap(keys.new_key())
            for f in sealed_fields(model):
                value = getattr(one, f.attname)
                if not f.is_nothing(value):
                    setattr(one, f.attname, self._closed(f, row, value))
            batch.append(one)
            if len(batch) == _BATCH:
                model._base_manager.bulk_create(batch)
                batch = []
        model._base_manager.bulk_create(batch)

    def _closed(self, f: SealedTextField, row: Row, value: Any) -> Any:
        *steps, last = f.of.split(".")
        found = row
        model: Any = f.model
        for step in steps:
            model = model._meta.get_field(step).related_model
            found = self.leads[model][found[f"{step}_id"]]
        return f.closed_for(found[f"{last}_id"], value)

    def _lines(self, model: Model) -> Iterator[Row]:
        with self.archive.open(f"tables/{model._meta.label}.jsonl") as table:
            for line in table:
                yield json.loads(line)


def _photos(salon: Salon) -> Iterator[store.Stored]:
    """Yield every photo of a salon, its own and those that came with copies of records."""
    yield from Photo.objects.filter(salon=salon, removal__isnull=True)
    for record in ReceivedRecord.objects.filter(salon=salon):
        yield from received.photos_of(record)


def _photo_name(photo: store.Stored, size: str) -> str:
    return f"photos/{photo.key.hex}{size}.jpg"


def _migrations() -> list[str]:
    applied = MigrationRecorder(connection).applied_migrations()
    return sorted(f"{app}.{name}" for app, name in applied if app in APPS)


def _reset_sequences() -> None:
    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), list(paths())):
            cursor.execute(statement)


def write_to(salon: Salon, file: Path) -> dict[str, int]:
    """Write a salon to a new file that only its owner reads."""
    part = file.with_name(f"{file.name}.part")
    part.touch(mode=0o600)
    try:
        with part.open("wb") as out:
            counts = write(salon, out)
        part.replace(file)
    finally:
        part.unlink(missing_ok=True)
    return counts
