"""Every component in all its states, for who draws pages."""

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from consult.screens.component_gallery import sample_page
from salon.access import OWNER, SalonRequest, allow


@allow(OWNER, by_pin=True)
@require_GET
def component_gallery(request: SalonRequest) -> HttpResponse:
    """Show every component in all its states."""
    page = sample_page(at=timezone.localtime())
    return render(request, "consult/component_gallery.html", page)
