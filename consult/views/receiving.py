"""Records that come from other salons of the same owner: received, declined, read, deleted."""

from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from clients.models import AccessKind, MoveState
from clients.people import duplicates, person
from clients.photos import store
from clients.selectors.photos import copied_photos
from clients.views.photos import picture_answer
from consult import access, services
from consult.forms import ReceiveForm, SecondPersonForm
from consult.history import from_elsewhere
from salon.access import BENCH, DESK, FRONT, OWNER, SalonRequest, allow
from salon.attempts import attempt, press
from salon.submissions import once
from salon.tablet.witness import with_witness


@allow(FRONT)
@require_GET
def records_to_receive(request: SalonRequest) -> HttpResponse:
    """Show whose records wait, and which copies their clients no longer agree to."""
    context = {
        "moves": from_elsewhere.moves_to_receive(request.salon),
        "withdrawn": from_elsewhere.withdrawn_copies(request.salon),
    }
    return render(request, "consult/records_to_receive.html", context)


@allow(FRONT)
@once
@require_http_methods(["GET", "POST"])
def receive_record(request: SalonRequest, pk: int) -> HttpResponse:
    """Ask who the client is here, and take the copy over."""
    move = access.move_to_receive_or_404(request, pk)
    if move.state != MoveState.WAITING:
        messages.warning(request, _("This record no longer waits to be received."))
        return redirect("consult:records_to_receive")
    giver = person.root(move.client)
    alike = duplicates.like(
        salon=request.salon, name=giver.name, phone=str(giver.phone or ""), email=giver.email
    )
    form = ReceiveForm(request.POST if request.method == "POST" else None, alike=list(alike))
    tried = attempt(
        request,
        form,
        lambda _data: services.receive_record(
            move=move, client=form.client, by=request.user, at=timezone.now()
        ),
        field="whom",
    )
    if tried.result:
        messages.success(request, _("Received. Read it with the client before you colour."))
        return redirect("consult:received_record", tried.result.pk)
    context = {"move": move, "giver": giver, "form": form}
    return render(request, "consult/receive_record.html", context, status=tried.status)


@allow(FRONT)
@require_POST
def refuse_record(request: SalonRequest, pk: int) -> HttpResponse:
    """Decline a record."""
    move = access.move_to_receive_or_404(request, pk)
    tried = press(
        request, lambda: services.refuse_move(move=move, by=request.user, at=timezone.now())
    )
    if tried.saved:
        messages.success(request, _("Declined. Nothing was copied."))
    return redirect("consult:records_to_receive")


@allow(DESK, shows=AccessKind.VISIT)
@require_GET
def received_record(request: SalonRequest, pk: int) -> HttpResponse:
    """Show the copy of another salon's record."""
    record = access.received_or_404(request, pk)
    at_bench = request.user.role in BENCH
    context = {
        "record": record,
        "client": person.root(record.client),
        "elsewhere": from_elsewhere.read(record.content, request.user),
        "at_bench": at_bench,
        "photos": copied_photos(record) if at_bench else [],
        "move": from_elsewhere.move_behind(record),
    }
    return render(request, "consult/received_record.html", context)


@allow(BENCH)
@require_GET
def received_photo(request: SalonRequest, pk: int, key: UUID) -> HttpResponseBase:
    """Give a photo of a copy: part of its page, which notes the look."""
    record = access.received_or_404(request, pk)
    photo = next((one for one in copied_photos(record) if one.key == key), None)
    if photo is None:
        raise Http404
    try:
        return picture_answer(store.read(photo), f"{photo.moment}-{photo.taken_at:%Y-%m-%d}")
    except FileNotFoundError:
        raise Http404 from None


@allow(OWNER)
@require_POST
def delete_received(request: SalonRequest, pk: int) -> HttpResponse:
    """Delete a copy."""
    record = access.received_or_404(request, pk)
    tried = press(
        request,
        lambda: services.delete_received_record(
            record=record, by=request.user, at=timezone.now()
        ),
    )
    if tried.saved:
        messages.success(request, _("The copy is deleted. Its warnings stay."))
    return redirect("clients:detail", record.client.person.pk)


@allow(DESK, shows=AccessKind.CLIENT)
@with_witness
@once
@require_http_methods(["GET", "POST"])
def put_back(request: SalonRequest, pk: int) -> HttpResponse:
    """Take a copy off the wrong client, which takes two people."""
    record = access.received_or_404(request, pk)
    form = SecondPersonForm(request.POST if request.method == "POST" else None, by=request.user)
    tried = attempt(
        request,
        form,
        lambda _data: services.put_back_record(
            record=record, by=request.user, at=timezone.now(), witness=request.witness
        ),
    )
    if tried.saved:
        messages.success(request, _("Removed. The record waits for the right client."))
        return redirect("clients:detail", record.client.person.pk)
    context = {"record": record, "client": person.root(record.client), "form": form}
    return render(request, "consult/put_back_record.html", context, status=tried.status)
