"""Everything about a client, for the client."""

from django.http import HttpResponse
from django.views.decorators.http import require_POST

from clients.access import stored_client_or_404
from clients.models import AccessKind
from clients.people import person
from salon.access import OWNER, SalonRequest, allow
from salon.files.giving import give


@allow(OWNER, shows=AccessKind.EXPORT)
@require_POST
def take_everything(request: SalonRequest, pk: int) -> HttpResponse:
    """Give one file with all that is kept about a client: to read, as data, with photos."""
    client = person.root(stored_client_or_404(request, pk))
    return give(request, "client", client=client.pk)
