"""A client agrees that another salon of the same owner gets a copy, or no longer does."""

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from clients.access import client_or_404
from clients.models import AccessKind, Client, MoveState
from clients.people import person
from clients.people.consent_texts import move_words
from clients.selectors.health_consent import health_consent
from consult import access, services
from consult.forms import CopyForm
from consult.history import from_elsewhere
from consult.portability.moves import copyable_photos
from salon.access import DESK, SalonRequest, allow
from salon.attempts import attempt, press
from salon.linked_salons.links import salons_of_same_owner
from salon.models import Salon
from salon.numbers import row_number
from salon.submissions import once


@allow(DESK, shows=AccessKind.CLIENT)
@once
@require_http_methods(["GET", "POST"])
def move_record(request: SalonRequest, pk: int) -> HttpResponse:
    """Show the client what another salon would get, and take the signature."""
    client = person.root(client_or_404(request, pk))
    others = salons_of_same_owner(request.salon)
    other = _chosen(request, others)
    moves = list(from_elsewhere.moves_of(client))
    waiting = {move.to_salon_id for move in moves if move.state == MoveState.WAITING}
    context: dict[str, object] = {
        "client": client,
        "others": others,
        "offered": [salon for salon in others if salon.pk not in waiting],
        "other": other,
        "moves": moves,
    }
    if other is None:
        if request.method == "POST":
            raise Http404(_("This page does not exist, or it belongs to another salon."))
        return render(request, "consult/move_record.html", context)
    return _sign(request, client, other, context)


def _sign(
    request: SalonRequest, client: Client, other: Salon, context: dict[str, object]
) -> HttpResponse:
    now = timezone.now()
    agreed = health_consent(client=client, at=now)
    words = move_words(client, other, by_guardian=agreed.is_minor)
    form = CopyForm(
        request.POST if request.method == "POST" else None,
        initial={"signed_name": "" if agreed.is_minor else client.name, "method": "drawn"},
        is_minor=agreed.is_minor,
        photo_words=words.photos if copyable_photos(client) else "",
    )
    tried = attempt(
        request,
        form,
        lambda data: services.ask_move(
            client=client,
            to_salon=other,
            method=data["method"],
            signed_name=data["signed_name"],
            drawn=data["signature_strokes"],
            is_turned=data["turned"] == "1",
            has_photos=data.get("has_photos", False),
            by=request.user,
            at=now,
        ),
    )
    if tried.saved:
        messages.success(
            request, _("Signed. %(salon)s can receive the copy now.") % {"salon": other.name}
        )
        return redirect("consult:move_record", client.pk)
    context |= {"form": form, "words": words, "agreed": agreed, "is_minor": agreed.is_minor}
    return render(request, "consult/move_record.html", context, status=tried.status)


@allow(DESK)
@require_POST
def withdraw_move(request: SalonRequest, pk: int) -> HttpResponse:
    """Record that the client no longer agrees."""
    move = access.move_or_404(request, pk)
    tried = press(
        request,
        lambda: services.withdraw_move(move=move, by=request.user, at=timezone.now()),
    )
    if tried.result:
        messages.success(
            request,
            _("Withdrawn. %(salon)s is asked to delete its copy.")
            % {"salon": move.to_salon.name}
            if tried.result.received_id
            else _("Withdrawn. No copy was made."),
        )
    return redirect("consult:move_record", move.client.person.pk)


def _chosen(request: SalonRequest, others: list[Salon]) -> Salon | None:
    """Return the salon that the address names, if it is one of the owner's."""
    wanted = row_number(request.GET.get("to", ""))
    return next((other for other in others if other.pk == wanted), None)
