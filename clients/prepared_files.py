"""The front desk's files: the client list, who looked at records, what clients agreed to."""

from collections.abc import Callable
from typing import IO

from django.db.models import QuerySet
from django.http import QueryDict
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from clients import services
from clients.forms.privacy import ConsentFilterForm
from clients.forms.record_access import AccessFilterForm
from clients.models import Consent, RecordAccess
from clients.people import csv_file, vcard
from clients.sealed import keys
from clients.selectors import importing, privacy, record_access
from salon.csv_table import write_table
from salon.files import kinds
from salon.files.kinds import CSV, FileRefused, FileRequest, Kind, owners_only
from salon.files.pieces import in_pieces
from salon.files.progress import Progress


def _clients_count(wanted: FileRequest) -> int:
    return importing.all_clients(salon=wanted.salon).count()


def _clients_csv(wanted: FileRequest, out: IO[bytes], progress: Progress) -> None:
    clients = progress.over(in_pieces(importing.all_clients(salon=wanted.salon)))
    for_spreadsheet = bool(wanted.arguments.get("for_spreadsheet"))
    with keys.at_hand():
        for line in csv_file.export(clients, for_spreadsheet=for_spreadsheet):
            out.write(line)


def _clients_vcf(wanted: FileRequest, out: IO[bytes], progress: Progress) -> None:
    clients = progress.over(in_pieces(importing.all_clients(salon=wanted.salon)))
    with keys.at_hand():
        for card in vcard.export(clients):
            out.write(card)


def _accesses(wanted: FileRequest) -> QuerySet[RecordAccess]:
    form = AccessFilterForm(_sent(wanted), salon=wanted.salon)
    if not form.is_valid():
        raise FileRefused(_("What it is about is no longer there."), code="gone")
    return record_access.accesses(salon=wanted.salon, **form.cleaned_data)


def _write_accesses(wanted: FileRequest, out: IO[bytes], progress: Progress) -> None:
    header = [_("When"), _("Who"), _("Whose"), _("What")]
    rows = progress.over(in_pieces(_accesses(wanted)))
    write_table(out, header, (_access(row) for row in rows))


def _access(row: RecordAccess) -> list[str]:
    whose = row.client.name if row.client else ""
    return [row.at.isoformat(), row.staff.display_name, whose, str(row.get_kind_display())]


def _consents(wanted: FileRequest) -> QuerySet[Consent]:
    form = ConsentFilterForm(_sent(wanted))
    if not form.is_valid():
        raise FileRefused(_("What it is about is no longer there."), code="gone")
    return privacy.consent_rows(salon=wanted.salon, **form.cleaned_data)


def _write_consents(wanted: FileRequest, out: IO[bytes], progress: Progress) -> None:
    header = [
        _("When"), _("Client"), _("To what"), _("Answer"), _("Who agreed"), _("Words"),
        _("Recorded by"),
    ]  # fmt: skip
    rows = progress.over(in_pieces(_consents(wanted)))
    with keys.at_hand():
        write_table(out, header, (_consent(row) for row in rows))


def _consent(row: Consent) -> list[str]:
    return [
        row.recorded_at.isoformat(),
        row.client.name,
        str(row.get_kind_display()),
        _("agreed") if row.is_given else _("withdrawn"),
        row.guardian or row.client.name,
        row.wording,
        row.recorded_by.display_name if row.recorded_by else _("the client, by mail"),
    ]


def _sent(wanted: FileRequest) -> QueryDict:
    """Return the filter of a page as it was sent."""
    sent = QueryDict(mutable=True)
    sent.update({name: str(value) for name, value in wanted.arguments.items()})
    return sent


def _exported(form: str) -> Callable[[FileRequest], None]:
    return lambda wanted: services.record_export(kind=form, by=wanted.by, at=wanted.at)


def _listed(name: str) -> Callable[[FileRequest], None]:
    return lambda wanted: services.record_list_export(name=name, by=wanted.by, at=wanted.at)


def register() -> None:
    """Enter the kinds."""
    kinds.add(
        "clients_csv",
        Kind(
            label=gettext_lazy("Client list, CSV"), content_type=CSV,
            name=lambda wanted: "clients.csv", check=owners_only, note=_exported("csv"),
            count=_clients_count, write=_clients_csv,
        ),
    )  # fmt: skip
    kinds.add(
        "clients_vcf",
        Kind(
            label=gettext_lazy("Client list, vCard"), content_type="text/vcard; charset=utf-8",
            name=lambda wanted: "clients.vcf", check=owners_only, note=_exported("vcf"),
            count=_clients_count, write=_clients_vcf,
        ),
    )  # fmt: skip
    kinds.add(
        "who_looked",
        Kind(
            label=gettext_lazy("Who looked at clients’ records"), content_type=CSV,
            name=lambda wanted: "who-looked.csv", check=owners_only,
            note=_listed("who_looked"), count=lambda wanted: _accesses(wanted).count(),
            write=_write_accesses,
        ),
    )  # fmt: skip
    kinds.add(
        "consents",
        Kind(
            label=gettext_lazy("Consents"), content_type=CSV,
            name=lambda wanted: "consents.csv", check=owners_only, note=_listed("consents"),
            count=lambda wanted: _consents(wanted).count(), write=_write_consents,
        ),
    )  # fmt: skip
