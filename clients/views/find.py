"""Finding a client while typing."""

from urllib.parse import urlencode

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET
from django.views.decorators.vary import vary_on_headers

from clients import selectors
from clients.models import Client
from salon.access import DESK, SalonRequest, allow

_PLACES = {"found", "anywhere-found"}


@allow(DESK)
@require_GET
@vary_on_headers("HX-Request")
def find(request: SalonRequest) -> HttpResponse:
    """Find a client; `book` keeps the time that is being booked, Enter takes the first."""
    text = request.GET.get("q", "")[:100]
    book = request.GET.get("book", "")[:200]
    place = request.GET.get("place", "")
    clients = selectors.find_clients(salon=request.salon, text=text)
    if clients and text and request.GET.get("pick") and not request.htmx:
        return redirect(_leads_to(clients[0], book))
    context = {
        "q": text,
        "clients": clients,
        "book": book,
        "place": place if place in _PLACES else "found",
    }
    template = "clients/_found.html" if request.htmx else "clients/find.html"
    return render(request, template, context)


def _leads_to(client: Client, book: str) -> str:
    if book:
        return f"{reverse('clients:book')}?{book}&{urlencode({'client': client.pk})}"
    return reverse("clients:detail", args=[client.pk])
