"""Finding a client while typing."""

from urllib.parse import urlencode

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET
from django.views.decorators.vary import vary_on_headers

from clients import access, selectors
from clients.models import Client
from salon.access import DESK, SalonRequest, allow
from salon.numbers import row_number

_PLACES = {"found", "anywhere-found", "to-join"}


@allow(DESK)
@require_GET
@vary_on_headers("HX-Request")
def find(request: SalonRequest) -> HttpResponse:
    """Find a client; `book` keeps the time being booked, `join` who wants a household.

    Enter takes the first, but never joins two people by itself.
    """
    text = request.GET.get("q", "")[:100]
    book = request.GET.get("book", "")[:200]
    place = request.GET.get("place", "")
    join = row_number(request.GET.get("join", ""))
    clients = selectors.find_clients(salon=request.salon, text=text)
    if join:
        other = access.client_or_404(request, join)
        clients = [client for client in clients if client.pk != other.pk]
    if clients and text and request.GET.get("pick") and not (request.htmx or join):
        return redirect(_leads_to(clients[0], book))
    context = {
        "q": text,
        "clients": clients,
        "book": book,
        "join": join,
        "place": place if place in _PLACES else "found",
    }
    template = "clients/_found.html" if request.htmx else "clients/find.html"
    return render(request, template, context)


def _leads_to(client: Client, book: str) -> str:
    if book:
        return f"{reverse('clients:book')}?{book}&{urlencode({'client': client.pk})}"
    return reverse("clients:detail", args=[client.pk])
