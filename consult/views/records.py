"""Histories: one client's tones in a row, and how everyone's came out."""

from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from clients.access import client_or_404
from consult import histories as past
from salon.access import BENCH, OWNER, SalonRequest, allow

PAGE = 25


@allow(BENCH)
@require_GET
def tones(request: SalonRequest, pk: int) -> HttpResponse:
    """Show every toning visit of a client: formula, choice, predicted, seen."""
    client = client_or_404(request, pk)
    rows = Paginator(past.tones_of(client), PAGE).get_page(request.GET.get("page"))
    told = past.told(rows.object_list)
    context = {"client": client, "page": rows, "told": told}
    return render(request, "consult/tones.html", context)


@allow(OWNER)
@require_GET
def histories(request: SalonRequest) -> HttpResponse:
    """Show how each client's tones came out against their predictions."""
    rows = Paginator(past.toned_people(salon=request.salon), PAGE)
    shown = rows.get_page(request.GET.get("page"))
    people = [row["person"] for row in shown.object_list]
    context = {"page": shown, "histories": past.client_histories(people)}
    return render(request, "consult/histories.html", context)
