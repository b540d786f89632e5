"""The page for beginners: the words of the trade."""

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from salon.access import DESK, SalonRequest, allow
from salon.glossary import TERMS


@allow(DESK)
@require_GET
def glossary(request: SalonRequest) -> HttpResponse:
    """List the terms with their meanings."""
    return render(request, "salon/glossary.html", {"terms": TERMS})
