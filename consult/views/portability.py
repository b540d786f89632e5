"""Everything about a client, for the client."""

from django.http import HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_POST

from clients.access import stored_client_or_404
from clients.models import AccessKind
from clients.people import person
from consult import services
from consult.portability.archive import archive_of
from salon.access import OWNER, SalonRequest, allow


@allow(OWNER, shows=AccessKind.EXPORT)
@require_POST
def take_everything(request: SalonRequest, pk: int) -> HttpResponse:
    """Give one file with all that is kept about a client: to read, as data, with photos."""
    now = timezone.now()
    client = person.root(stored_client_or_404(request, pk))
    services.record_client_export(client=client, by=request.user, at=now)
    response = HttpResponse(archive_of(client, at=now), content_type="application/zip")
    response["Content-Disposition"] = f'attachment; filename="client-{client.pk}.zip"'
    return response
