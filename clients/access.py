"""Lookups of the front desk, always inside the request's salon."""

from typing import Any, cast
from uuid import UUID

from clients.models import (
    Absence,
    Appointment,
    Chair,
    Client,
    ClientAlert,
    ClientImport,
    ClientMerge,
    ClosedDay,
    HairHistoryEntry,
    PatchTest,
    Photo,
    Reminder,
    Service,
    Waiting,
    WaitingEntry,
)
from clients.privacy.shut import check_not_shut
from clients.selectors.desk import may_see_medical
from salon.access import SalonRequest, one_or_404
from salon.numbers import row_number


def client_or_404(request: SalonRequest, pk: int) -> Client:
    """Return a client of the request's salon whose record is not shut."""
    client = stored_client_or_404(request, pk)
    check_not_shut(client)
    return client


def stored_client_or_404(request: SalonRequest, pk: int) -> Client:
    """Return a client of the request's salon, also one whose record is only stored."""
    clients = Client.objects.for_salon(request.salon)
    return one_or_404(clients.select_related("salon", "merged_into", "household"), pk=pk)


def _open(record: Any) -> Any:
    """Return a client's record, unless it is shut."""
    check_not_shut(record.client)
    return record


def appointment_or_404(request: SalonRequest, pk: int) -> Appointment:
    """Return an appointment of the request's salon, with what a page shows of it."""
    rows = Appointment.objects.for_salon(request.salon).for_show()
    return cast(Appointment, _open(one_or_404(rows, pk=pk)))


def patch_test_or_404(request: SalonRequest, pk: int) -> PatchTest:
    """Return a patch test of a client of the request's salon."""
    tests = PatchTest.objects.filter(client__salon=request.salon)
    tests = tests.select_related("client__salon", "line", "applied_by")
    return cast(PatchTest, _open(one_or_404(tests, pk=pk)))


def alert_or_404(request: SalonRequest, pk: int) -> ClientAlert:
    """Return a standing alert that the reader may see."""
    alerts = ClientAlert.objects.filter(
        client__salon=request.salon, lifts__isnull=True, lifted_by__isnull=True
    )
    if not may_see_medical(request.user):
        alerts = alerts.exclude(kind="medical")
    return cast(ClientAlert, _open(one_or_404(alerts.select_related("client"), pk=pk)))


def absence_or_404(request: SalonRequest, pk: int) -> Absence:
    """Return a break or day off of the request's salon."""
    return one_or_404(Absence.objects.filter(salon=request.salon), pk=pk)


def closed_day_or_404(request: SalonRequest, pk: int) -> ClosedDay:
    """Return a closed day of the request's salon."""
    return one_or_404(ClosedDay.objects.filter(salon=request.salon), pk=pk)


def waiting_or_404(request: SalonRequest, pk: int) -> WaitingEntry:
    """Return an entry of the waiting list."""
    entries = WaitingEntry.objects.filter(salon=request.salon)
    return one_or_404(entries.select_related("client", "service"), pk=pk)


def waiting_or_none(request: SalonRequest, pk: str) -> WaitingEntry | None:
    """Return an open entry of the waiting list, if the address names one."""
    number = row_number(pk)
    if number is None:
        return None
    open_now = WaitingEntry.objects.filter(salon=request.salon, status=Waiting.OPEN)
    return open_now.filter(pk=number).first()


def hair_history_or_404(request: SalonRequest, pk: int) -> HairHistoryEntry:
    """Return a standing entry of someone's hair history."""
    entries = HairHistoryEntry.objects.filter(
        client__salon=request.salon, withdraws__isnull=True, withdrawn_by__isnull=True
    )
    return cast(
        HairHistoryEntry, _open(one_or_404(entries.select_related("client__salon"), pk=pk))
    )


def merge_or_404(request: SalonRequest, pk: int) -> ClientMerge:
    """Return a merge of the request's salon."""
    return one_or_404(ClientMerge.objects.filter(salon=request.salon), pk=pk)


def reminder_or_404(request: SalonRequest, pk: int) -> Reminder:
    """Return a reminder of the request's salon."""
    reminders = Reminder.objects.filter(salon=request.salon)
    return one_or_404(reminders.select_related("client", "salon"), pk=pk)


def import_or_404(request: SalonRequest, pk: int) -> ClientImport:
    """Return an import of the request's salon; what is large is read where it is used."""
    imports = ClientImport.objects.filter(salon=request.salon)
    return one_or_404(imports.defer("rows", "content", "refused"), pk=pk)


def photo_or_404(request: SalonRequest, key: UUID) -> Photo:
    """Return a photo of the request's salon that was not removed."""
    photos = Photo.objects.filter(salon=request.salon, removal__isnull=True)
    return cast(
        Photo, _open(one_or_404(photos.select_related("client", "appointment"), key=key))
    )


def service_or_404(request: SalonRequest, pk: int) -> Service:
    """Return a service of the request's salon, also one out of use."""
    return one_or_404(Service.objects.filter(salon=request.salon), pk=pk)


def chair_or_404(request: SalonRequest, pk: int) -> Chair:
    """Return a chair of the request's salon, also one out of use."""
    return one_or_404(Chair.objects.filter(salon=request.salon), pk=pk)
