"""Lookups of the front desk, always inside the request's salon."""

from clients.models import Appointment, Client, PatchTest
from salon.access import SalonRequest, one_or_404


def client_or_404(request: SalonRequest, pk: int) -> Client:
    """Return a client of the request's salon."""
    return one_or_404(Client.objects.for_salon(request.salon), pk=pk)


def appointment_or_404(request: SalonRequest, pk: int) -> Appointment:
    """Return an appointment of the request's salon, with what a page shows of it."""
    return one_or_404(Appointment.objects.for_salon(request.salon).for_show(), pk=pk)


def patch_test_or_404(request: SalonRequest, pk: int) -> PatchTest:
    """Return a patch test of a client of the request's salon."""
    return one_or_404(
        PatchTest.objects.filter(client__salon=request.salon).select_related("client", "line"),
        pk=pk,
    )
