"""Client lists in and out: CSV and vCard."""

from collections.abc import Callable, Iterable
from typing import Any

from django.contrib import messages
from django.db import transaction
from django.http import HttpResponse, StreamingHttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from clients import access, services, tasks
from clients.forms import ImportFileForm, MappingForm
from clients.models import AccessKind, ClientImport, ImportStatus
from clients.people import csv_file
from clients.selectors import importing as selectors
from clients.selectors import today
from clients.selectors.import_values import values_to_correct
from salon.access import OWNER, SalonRequest, allow
from salon.attempts import attempt, press
from salon.body_limit import takes_files
from salon.files.giving import give
from salon.models import Staff
from salon.work.status import is_queued_for, is_worker_alive

allow_importers = allow(OWNER, also=lambda staff: staff.imports_lists)


@allow_importers
@takes_files(csv_file.MOST_OCTETS)
@require_http_methods(["GET", "POST"])
def imports(request: SalonRequest) -> HttpResponse:
    """Load a file to look at; nobody is registered by that."""
    form = ImportFileForm(*((request.POST, request.FILES) if request.method == "POST" else ()))

    def load(data: dict[str, Any]) -> ClientImport:
        file = data["file"]
        if file.size > csv_file.MOST_OCTETS:
            raise csv_file.Unreadable(_("The file is larger than 25 MB."), code="too_large")
        content = file.read()
        return services.load_import(
            file_name=file.name, table=csv_file.read(content), content=content,
            by=request.user, at=timezone.now(),
        )  # fmt: skip

    tried = attempt(request, form, load, field="file")
    if tried.result:
        return redirect("clients:import", tried.result.pk)
    context = {
        "form": form,
        "imports": selectors.imports(salon=request.salon),
        "to_correct": values_to_correct(salon=request.salon).count(),
    }
    return render(request, "clients/imports.html", context, status=tried.status)


@allow_importers
@require_http_methods(["GET", "POST"])
def one_import(request: SalonRequest, pk: int) -> HttpResponse:
    """Show what a file would become; say how it is to be read, then take it in."""
    found = access.import_or_404(request, pk)
    if found.status != ImportStatus.LOADED:
        context = {
            "found": found,
            "is_worker_alive": is_worker_alive(),
            "is_at_work": is_queued_for(tasks.go_on_with_import, pk),
        }
        return render(request, "clients/import.html", context)
    form = MappingForm(
        request.POST if request.method == "POST" else None,
        header=found.header,
        mapping=found.mapping,
        samples=selectors.samples(found),
        initial={"encoding": found.encoding},
    )
    mapping, order = found.mapping, ""
    if request.method == "POST":
        valid = form.is_valid()
        encoding = form.cleaned_data.get("encoding")
        if encoding and encoding != found.encoding:
            return _read_again(request, found, form)
        if valid:
            mapping, order = form.mapping(), form.cleaned_data["date_order"]
            if "take" in request.POST and _started(request, found, form):
                return redirect("clients:import", pk)
    day = today(salon=request.salon, at=timezone.now())
    shown = selectors.preview(loaded=found, mapping=mapping, date_order=order, today=day)
    context = {"found": found, "form": form, "preview": shown}
    status = 422 if form.errors else 200
    return render(request, "clients/import.html", context, status=status)


def _read_again(request: SalonRequest, found: ClientImport, form: MappingForm) -> HttpResponse:
    """Read the kept file in the letters chosen; nothing is taken in before it was looked at."""

    def read() -> None:
        content, encoding = bytes(found.content), form.cleaned_data["encoding"]
        services.reread_import(
            loaded=found, table=csv_file.read(content, encoding=encoding),
            mapping=form.mapping(), by=request.user, at=timezone.now(),
        )  # fmt: skip

    press(request, read)
    return redirect("clients:import", found.pk)


def _started(request: SalonRequest, found: ClientImport, form: MappingForm) -> bool:
    """Start the import, or say on the form what has to be chosen first."""
    tried = press(
        request,
        lambda: _then_go_on(services.start_import)(
            loaded=found, mapping=form.mapping(), date_order=form.cleaned_data["date_order"],
            by=request.user, at=timezone.now(),
        ),
        quiet=True,
    )  # fmt: skip
    if tried.refusal and tried.refusal.field:
        form.add_error(tried.refusal.field, str(tried.refusal))
        return False
    if tried.refusal:
        messages.error(request, str(tried.refusal))
    return True


@allow_importers
@require_POST
def go_on(request: SalonRequest, pk: int) -> HttpResponse:
    """Queue the next piece again, where its task failed; pressed twice, once."""
    tasks.queue_piece_again(access.import_or_404(request, pk), by=request.user)
    return redirect("clients:import", pk)


@allow_importers
@require_POST
def stop(request: SalonRequest, pk: int) -> HttpResponse:
    """Stop an import where it is."""
    return _act(request, pk, services.stop_import, taking=access.import_or_404(request, pk))


@allow_importers
@require_POST
def undo(request: SalonRequest, pk: int) -> HttpResponse:
    """Begin to take an import back; a task does it."""
    found = access.import_or_404(request, pk)
    return _act(request, pk, _then_go_on(services.undo_import), done=found)


@allow_importers
@require_POST
def discard(request: SalonRequest, pk: int) -> HttpResponse:
    """Throw a loaded file away."""
    return _act(request, pk, services.discard_import, loaded=access.import_or_404(request, pk))


def _then_go_on(service: Callable[..., ClientImport]) -> Callable[..., ClientImport]:
    """Return a service that also queues the first piece: both are kept, or neither."""

    def both(*, by: Staff, **arguments: Any) -> ClientImport:
        with transaction.atomic():
            found = service(by=by, **arguments)
            tasks.go_on_with_import.enqueue(found.pk, by.pk)
        return found

    return both


def _act(
    request: SalonRequest,
    pk: int,
    service: Callable[..., ClientImport | None],
    **arguments: Any,
) -> HttpResponse:
    press(request, lambda: service(by=request.user, at=timezone.now(), **arguments))
    return redirect("clients:import", pk)


@allow_importers
@require_GET
def report(request: SalonRequest, pk: int) -> StreamingHttpResponse:
    """Give the refused rows with their reasons, as CSV."""
    found = access.import_or_404(request, pk)
    rows = csv_file.report(found.header, found.refused, separator=found.separator)
    return _download(rows, "refused.csv", "text/csv; charset=utf-8")


@allow(OWNER, shows=AccessKind.EXPORT)
@require_POST
def export(request: SalonRequest, kind: str) -> HttpResponse:
    """Give everyone as CSV or vCard."""
    if kind == "vcf":
        return give(request, "clients_vcf")
    return give(request, "clients_csv", for_spreadsheet="for_spreadsheet" in request.POST)


def _download(pieces: Iterable[bytes], name: str, kind: str) -> StreamingHttpResponse:
    response = StreamingHttpResponse(pieces, content_type=kind)
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    return response
