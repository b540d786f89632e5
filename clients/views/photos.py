"""Photos of the hair: asked for, taken, shown to the bench, removed."""

from dataclasses import dataclass
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import ngettext
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from clients import access, selectors, services
from clients.forms import PhotoConsentForm, PhotoForm, RemovalForm
from clients.models import AccessKind, Appointment, ConsentKind, Moment, Photo
from clients.photos import pictures, store
from salon.access import BENCH, OWNER, SalonRequest, allow
from salon.attempts import attempt, press
from salon.body_limit import takes_files
from salon.submissions import once

BOTH = "both"


@dataclass(frozen=True)
class Shelf:
    """The photos of one moment of an appointment, and what may be done with them."""

    appointment: Appointment
    moment: Moment
    consent: selectors.PhotoConsent
    kept: list[Photo]  # none where the client does not agree
    stored: int  # how many are kept, shown or not
    removed: list[Photo]
    may_take: bool
    form: PhotoForm
    removal_form: RemovalForm


@allow(BENCH, shows=AccessKind.PHOTOS)
@require_GET
def photos(request: SalonRequest, pk: int) -> HttpResponse:
    """Show the photos of an appointment, before and after."""
    return _page(request, access.appointment_or_404(request, pk))


def _page(
    request: SalonRequest, appointment: Appointment, *, tried: Shelf | None = None
) -> HttpResponse:
    shelves = [
        tried if tried and tried.moment == moment else _shelf(appointment, moment)
        for moment in Moment
    ]
    context = {"appointment": appointment, "shelves": shelves, "consent": shelves[0].consent}
    return render(request, "clients/photos.html", context, status=422 if tried else 200)


def _shelf(
    appointment: Appointment,
    moment: str,
    form: PhotoForm | None = None,
    removal_form: RemovalForm | None = None,
) -> Shelf:
    """Return the shelf of one moment, with a form that was refused."""
    consent = selectors.photo_consent(client=appointment.client)
    rows = selectors.photos_of(appointment=appointment, moment=moment)
    kept = [row for row in rows if not hasattr(row, "removal")]
    return Shelf(
        appointment,
        Moment(moment),
        consent,
        kept=kept if consent.is_given else [],
        stored=len(kept),
        removed=[row for row in rows if hasattr(row, "removal")],
        may_take=appointment.status in services.SEATED,
        form=form or PhotoForm(),
        removal_form=removal_form or RemovalForm(),
    )


def _answer(
    request: SalonRequest,
    appointment: Appointment,
    moment: str,
    status: int = 200,
    *,
    form: PhotoForm | None = None,
    removal_form: RemovalForm | None = None,
) -> HttpResponse:
    """Draw the fragment where the page's script asked for it, else lead to the page."""
    if request.htmx:
        context = {"shelf": _shelf(appointment, moment, form, removal_form)}
        return render(request, "clients/_photo_shelf.html", context, status=status)
    if status == 200:
        return redirect("clients:photos", appointment.pk)
    return _page(request, appointment, tried=_shelf(appointment, moment, form, removal_form))


def _moment_or_404(moment: str) -> str:
    if moment not in Moment.values:
        raise Http404
    return moment


@allow(BENCH, shows=AccessKind.PHOTOS)
@require_GET
def shelf(request: SalonRequest, pk: int, moment: str) -> HttpResponse:
    """Give the fragment of one moment, or a strip of both to look at."""
    appointment = access.appointment_or_404(request, pk)
    if moment != BOTH:
        return _answer(request, appointment, _moment_or_404(moment))
    consent = selectors.photo_consent(client=appointment.client)
    rows = selectors.photos_of(appointment=appointment) if consent.is_given else []
    context = {
        "photos": [row for row in rows if not hasattr(row, "removal")],
        "appointment": appointment,
        "consent": consent,
        "may_take": appointment.status in services.SEATED,
        "card": "card" in request.GET,
    }
    return render(request, "clients/_photo_strip.html", context)


@allow(BENCH)
@takes_files(pictures.MOST_OCTETS)
@require_POST
def take(request: SalonRequest, pk: int, moment: str) -> HttpResponseBase:
    """Keep a photo; the picture is read before anything is written."""
    appointment = access.appointment_or_404(request, pk)
    form = PhotoForm(request.POST, request.FILES)
    if not form.is_valid():
        return _answer(request, appointment, _moment_or_404(moment), 422, form=form)
    return _keep(request, appointment, _moment_or_404(moment), form)


@once
def _keep(
    request: SalonRequest, appointment: Appointment, moment: str, form: PhotoForm
) -> HttpResponse:
    tried = attempt(
        request,
        form,
        lambda data: services.take_photo(
            appointment=appointment,
            picture=data["file"],
            moment=moment,
            part=data["part"],
            by=request.user,
            at=timezone.now(),
        ),
    )
    if not tried.saved:
        return _answer(request, appointment, moment, tried.status, form=form)
    if request.htmx:
        address = reverse("clients:photo_shelf", args=[appointment.pk, moment])
        return HttpResponse(status=204, headers={"HX-Redirect": address})
    return redirect("clients:photos", appointment.pk)


@allow(BENCH)
@require_POST
def agree(request: SalonRequest, pk: int, moment: str) -> HttpResponse:
    """Record what the client says to photos; the same word twice is one."""
    appointment = access.appointment_or_404(request, pk)
    form = PhotoConsentForm(request.POST)
    if not form.is_valid():
        return _answer(request, appointment, _moment_or_404(moment), 422)
    is_given = form.cleaned_data["is_given"]
    consent = selectors.photo_consent(client=appointment.client)
    if consent.last is None or consent.last.is_given != is_given:
        services.record_consent(
            client=appointment.client,
            kind=ConsentKind.PHOTOS,
            wording=consent.wording,
            is_given=is_given,
            by=request.user,
            at=timezone.now(),
        )
    response = _answer(request, appointment, _moment_or_404(moment))
    if request.htmx:  # other places of the page show photos as well
        response["HX-Trigger"] = "photo-consent"
    return response


@allow(BENCH)
@require_POST
def remove(request: SalonRequest, key: UUID) -> HttpResponse:
    """Delete a photo that should not have been taken."""
    photo = access.photo_or_404(request, key)
    appointment = access.appointment_or_404(request, photo.appointment_id)
    form = RemovalForm(request.POST)
    if not form.is_valid():
        return _answer(request, appointment, photo.moment, 422, removal_form=form)
    services.remove_photo(
        photo=photo, reason=form.cleaned_data["reason"], by=request.user, at=timezone.now()
    )
    return _answer(request, appointment, photo.moment)


@allow(BENCH, shows=AccessKind.PHOTOS)
@require_GET
def picture(request: SalonRequest, key: UUID) -> HttpResponseBase:
    """Give a photo's file to the bench, while the client agrees."""
    return _file(request, key, small=False)


@allow(BENCH)
@require_GET
def small_picture(request: SalonRequest, key: UUID) -> HttpResponseBase:
    """Give a photo's small file: part of a shelf or a history, which note the look."""
    return _file(request, key, small=True)


def _file(request: SalonRequest, key: UUID, *, small: bool) -> HttpResponseBase:
    photo = access.photo_or_404(request, key)
    if not selectors.may_be_shown(photo):
        raise Http404
    size = store.SMALL if small else store.ORDINARY
    try:
        content = store.read(photo, size)
    except FileNotFoundError:
        raise Http404 from None
    return picture_answer(content, _file_name(photo))


def picture_answer(content: bytes, name: str) -> HttpResponse:
    """Return a picture's file, which no browser keeps and no other site shows."""
    response = HttpResponse(content, content_type="image/jpeg")
    response["Content-Disposition"] = f'inline; filename="{name}.jpg"'
    response["Cache-Control"] = "private, no-store"
    response["X-Content-Type-Options"] = "nosniff"
    response["Cross-Origin-Resource-Policy"] = "same-origin"
    return response


def _file_name(photo: Photo) -> str:
    """Say what and when, never who."""
    return f"{photo.moment}-{timezone.localtime(photo.taken_at):%Y-%m-%d}"


@allow(BENCH, shows=AccessKind.PHOTOS)
@require_GET
def history(request: SalonRequest, pk: int) -> HttpResponse:
    """Show every photo of a client, before beside after."""
    client = access.client_or_404(request, pk)
    consent = selectors.photo_consent(client=client)
    context = {
        "client": client,
        "consent": consent,
        "sittings": selectors.sittings(client=client) if consent.is_given else [],
    }
    return render(request, "clients/photo_history.html", context)


@allow(OWNER)
@require_GET
def withdrawn(request: SalonRequest) -> HttpResponse:
    """Show whose photos are still stored although the consent was withdrawn."""
    people = selectors.withdrawn_with_photos(salon=request.salon)
    name = "_photos_withdrawn.html" if request.htmx else "photos_withdrawn.html"
    return render(request, f"clients/{name}", {"people": people})


@allow(OWNER)
@require_http_methods(["POST"])
def delete_withdrawn(request: SalonRequest, pk: int) -> HttpResponse:
    """Delete the photos of a client who has withdrawn the consent."""
    client = access.client_or_404(request, pk)
    tried = press(
        request,
        lambda: services.delete_withdrawn_photos(
            client=client, by=request.user, at=timezone.now()
        ),
    )
    if tried.saved:
        count = tried.result or 0
        messages.success(
            request,
            ngettext("%(n)d photo deleted.", "%(n)d photos deleted.", count) % {"n": count},
        )
    return redirect("clients:withdrawn_photos")
