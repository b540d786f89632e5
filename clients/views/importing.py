"""Client lists in and out: CSV and vCard."""

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.http import HttpResponse, StreamingHttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from clients import access, services
from clients.forms import ImportFileForm, MappingForm
from clients.models import ClientImport, ImportStatus
from clients.people import csv_file, vcard
from clients.selectors import importing as selectors
from clients.selectors import today
from salon.access import OWNER, SalonRequest, allow
from salon.body_limit import takes_files


@allow(OWNER)
@takes_files(csv_file.MOST_OCTETS)
@require_http_methods(["GET", "POST"])
def imports(request: SalonRequest) -> HttpResponse:
    """Load a file to look at; nobody is registered by that."""
    form = ImportFileForm(*((request.POST, request.FILES) if request.method == "POST" else ()))
    if request.method == "POST" and form.is_valid():
        file = form.cleaned_data["file"]
        try:
            if file.size > csv_file.MOST_OCTETS:
                raise csv_file.Unreadable(_("The file is larger than 25 MB."))
            table = csv_file.read(file.read(), encoding=form.cleaned_data["encoding"])
            loaded = services.load_import(
                file_name=file.name, table=table, by=request.user, at=timezone.now()
            )
            return redirect("clients:import", loaded.pk)
        except csv_file.Unreadable as refusal:
            form.add_error("file", str(refusal))
    context = {"form": form, "imports": selectors.imports(salon=request.salon)}
    return render(request, "clients/imports.html", context, status=422 if form.errors else 200)


@allow(OWNER)
@require_http_methods(["GET", "POST"])
def one_import(request: SalonRequest, pk: int) -> HttpResponse:
    """Show what a file would become; say what its columns mean, then take it in."""
    found = access.import_or_404(request, pk)
    now = timezone.now()
    form, shown = None, None
    if found.status == ImportStatus.LOADED:
        form = MappingForm(
            request.POST if request.method == "POST" else None,
            header=found.header,
            mapping=found.mapping,
        )
        mapping = found.mapping
        if request.method == "POST" and form.is_valid():
            mapping = form.mapping()
            if "take" in request.POST:
                return _act(request, pk, services.start_import, loaded=found, mapping=mapping)
        shown = selectors.preview(
            loaded=found, mapping=mapping, today=today(salon=request.salon, at=now)
        )
    context = {"found": found, "form": form, "preview": shown}
    status = 422 if form is not None and form.errors else 200
    return render(request, "clients/import.html", context, status=status)


@allow(OWNER)
@require_POST
def go_on(request: SalonRequest, pk: int) -> HttpResponse:
    """Do the next piece; the page asks again until nothing is left."""
    found = access.import_or_404(request, pk)
    now = timezone.now()
    if found.status == ImportStatus.TAKING:
        found = services.take_in_piece(taking=found, by=request.user, at=now)
    elif found.status == ImportStatus.UNDOING:
        found = services.undo_piece(undoing=found, by=request.user, at=now)
    if request.htmx:
        return render(request, "clients/_import_progress.html", {"found": found})
    return redirect("clients:import", pk)


@allow(OWNER)
@require_POST
def undo(request: SalonRequest, pk: int) -> HttpResponse:
    """Begin to take an import back."""
    return _act(request, pk, services.undo_import, done=access.import_or_404(request, pk))


@allow(OWNER)
@require_POST
def discard(request: SalonRequest, pk: int) -> HttpResponse:
    """Throw a loaded file away."""
    return _act(request, pk, services.discard_import, loaded=access.import_or_404(request, pk))


def _act(
    request: SalonRequest, pk: int, service: Callable[..., ClientImport | None], **given: Any
) -> HttpResponse:
    try:
        service(by=request.user, at=timezone.now(), **given)
    except services.ImportRefused as refusal:
        messages.error(request, str(refusal))
    return redirect("clients:import", pk)


@allow(OWNER)
@require_GET
def report(request: SalonRequest, pk: int) -> HttpResponse:
    """Give the refused rows with their reasons, as CSV."""
    found = access.import_or_404(request, pk)
    return _download(csv_file.report(found.refused), "refused.csv", "text/csv; charset=utf-8")


@allow(OWNER)
@require_POST
def export(request: SalonRequest, kind: str) -> HttpResponseBase:
    """Give everyone as CSV or vCard."""
    services.record_export(kind=kind, by=request.user, at=timezone.now())
    clients = selectors.all_clients(salon=request.salon).iterator(chunk_size=2000)
    if kind == "vcf":
        return _download(vcard.export(clients), "clients.vcf", "text/vcard; charset=utf-8")
    return _download(csv_file.export(clients), "clients.csv", "text/csv; charset=utf-8")


def _download(pieces: Any, name: str, kind: str) -> Any:
    response = StreamingHttpResponse(pieces, content_type=kind)
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    return response
