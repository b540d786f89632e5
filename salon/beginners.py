"""The page for beginners: the words of the trade."""

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from salon.access import DESK, SalonRequest, allow
from salon.words import WORDS


@allow(DESK)
@require_GET
def words(request: SalonRequest) -> HttpResponse:
    """List the terms with their meanings."""
    return render(request, "salon/words.html", {"words": WORDS})
