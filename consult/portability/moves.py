"""What both sides of a move ask: whether it may be, and who comes first."""

from django.utils.translation import gettext as _

from clients.models import Client, Photo, RecordMove
from clients.people import person
from clients.selectors.photos import photo_consent, stored_photos
from salon.linked_salons.links import salons_of_same_owner
from salon.models import Salon
from salon.refusals import Refused


class MoveRefused(Refused):
    """Raised with the reason why a record is not given, received or deleted."""


def copyable_photos(client: Client) -> list[Photo]:
    """Return the photos that could go along, while the client agrees to them here."""
    return stored_photos(client=client) if photo_consent(client=client).is_given else []


def check_linked(salon: Salon, other: Salon) -> None:
    """Refuse a salon that no owner has proven to be theirs as well."""
    if other not in salons_of_same_owner(salon):
        raise MoveRefused(
            _("The two salons are not linked by an owner of both."), code="not_linked"
        )


def held(move: RecordMove) -> RecordMove:
    """Hold a move, so that who withdraws and who receives come one after the other."""
    rows = RecordMove.objects.select_related("salon", "to_salon", "client", "consent")
    return rows.select_for_update(of=("self",)).get(pk=move.pk)


def entries_held(*clients: Client | None) -> list[list[int]]:
    """Hold the rows of people, in one order; return the entries of each as they are now."""
    named = [client for client in clients if client is not None]
    found = [_ids(client) for client in named]
    rows = Client.objects.filter(pk__in=[pk for ids in found for pk in ids]).order_by("pk")
    list(rows.select_for_update(no_key=True))
    now = [_ids(client) for client in named]
    return [*now, *([] for client in clients if client is None)]


def _ids(client: Client) -> list[int]:
    fresh = Client.objects.select_related("merged_into").get(pk=client.pk)
    return person.ids_of(fresh)


def person_of(ids: list[int]) -> Client:
    """Return the main entry of a person, by their entries."""
    return Client.objects.select_related("salon").get(pk=ids[0])
