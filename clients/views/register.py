"""Registering and changing clients."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods

from clients import access, selectors, services
from clients.forms import AlertForm, ClientForm
from clients.models import AccessKind
from clients.people import duplicates, person
from clients.privacy.shut import check_not_shut
from clients.selectors.health_consent import is_shut_for
from clients.views.desk_draft import address_of, fill, forget, keep_refused, typed
from salon.access import DESK, SalonRequest, allow
from salon.attempts import attempt
from salon.models import Role
from salon.refusals import Stale
from salon.submissions import once


@allow(DESK)
@once
@require_http_methods(["GET", "POST"])
def new(request: SalonRequest) -> HttpResponse:
    """Register a client; an entry that looks the same is shown first."""
    now = timezone.now()
    form = ClientForm(
        request.POST if request.method == "POST" else None,
        salon=request.salon,
        today=selectors.today(salon=request.salon, at=now),
        initial={"name": request.GET.get("name", "")[:300]},
    )
    left = typed(request)
    fill(form, left)
    book = request.GET.get("book", "")[:200]
    twins = []
    if request.method == "POST" and form.is_valid():
        fields = form.record()
        twins = duplicates.like(
            salon=request.salon,
            name=fields["name"],
            phone=str(fields["phone"] or ""),
            email=fields["email"],
        )
        if not twins or form.cleaned_data["is_someone_else"]:
            client = services.register_client(by=request.user, at=now, **fields)
            forget(request)
            messages.success(request, _("%(name)s is added.") % {"name": client.name})
            if book:
                return redirect(f"{reverse('clients:book')}?{book}&client={client.pk}")
            return redirect("clients:detail", client.pk)
    keep_refused(request)
    status = 422 if form.errors or twins else 200
    context = {"form": form, "twins": twins, "book": book}
    context |= {"left": left, "address": address_of(request)}
    return render(request, "clients/new.html", context, status=status)


@allow(DESK, shows=AccessKind.CLIENT)
@require_GET
def detail(request: SalonRequest, pk: int) -> HttpResponse:
    """Show everything known of a client in one place."""
    client = access.stored_client_or_404(request, pk)
    if not person.is_root(client):
        return redirect("clients:detail", person.root_id(client))
    if client.shut and request.user.role == Role.OWNER:
        return redirect("clients:rights", client.pk)
    check_not_shut(client)
    now = timezone.now()
    is_shut = is_shut_for(request.user, client=client)
    context = {
        "client": client,
        "is_shut": is_shut,
        "alerts": selectors.alerts_in_force(client=client, viewer=request.user),
        "states": [] if is_shut else selectors.client_states(client=client, at=now),
        "upcoming": selectors.upcoming(client=client, at=now),
        "tests": selectors.patch_history(client=client),
        "timeline": []
        if is_shut
        else selectors.client_timeline(client=client, viewer=request.user),
        "age": client.age_on(selectors.today(salon=request.salon, at=now)),
        "alert_form": AlertForm(),
        "no_shows": selectors.no_shows(client=client),
    }
    return render(request, "clients/detail.html", context)


@allow(DESK, shows=AccessKind.CLIENT)
@require_http_methods(["GET", "POST"])
def edit(request: SalonRequest, pk: int) -> HttpResponse:
    """Change a client; the second of two people sees what has changed and keeps their input."""
    client = access.client_or_404(request, pk)
    now = timezone.now()
    form = ClientForm(
        request.POST if request.method == "POST" else None,
        instance=access.client_or_404(request, pk),
        salon=request.salon,
        today=selectors.today(salon=request.salon, at=now),
    )
    left = typed(request)
    fill(form, left)
    differences = []
    tried = attempt(
        request,
        form,
        lambda data: services.change_client(
            client=client,
            expected_version=data["version"] or 0,
            by=request.user,
            at=now,
            birth_reason=data.get("birth_reason", ""),
            **form.record(),
        ),
    )
    if tried.saved:
        forget(request)
        messages.success(request, _("Saved."))
        return redirect("clients:detail", client.pk)
    keep_refused(request)
    if isinstance(tried.refusal, Stale):
        current = access.client_or_404(request, pk)
        differences = form.differences(current)
        form.data = {**form.data.dict(), "version": str(current.version)}  # type: ignore[attr-defined]
    context = {
        "client": access.client_or_404(request, pk),
        "form": form,
        "differences": differences,
        "left": left,
        "address": address_of(request),
    }
    return render(request, "clients/edit.html", context, status=tried.status)
