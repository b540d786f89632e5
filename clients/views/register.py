"""Finding, registering and changing clients."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST
from django.views.decorators.vary import vary_on_headers

from clients import access, selectors, services
from clients.forms import AlertForm, ClientForm
from salon.access import DESK, SalonRequest, allow
from salon.submissions import once


@allow(DESK)
@require_GET
@vary_on_headers("HX-Request")
def find(request: SalonRequest) -> HttpResponse:
    """Find a client while typing; `book` keeps the time that is being booked."""
    text = request.GET.get("q", "")[:100]
    context = {
        "q": text,
        "clients": selectors.find_clients(salon=request.salon, text=text),
        "book": request.GET.get("book", "")[:200],
    }
    template = "clients/_found.html" if request.htmx else "clients/find.html"
    return render(request, template, context)


@allow(DESK)
@once
@require_http_methods(["GET", "POST"])
def new(request: SalonRequest) -> HttpResponse:
    """Register a client."""
    now = timezone.now()
    form = ClientForm(
        request.POST or None,
        salon=request.salon,
        today=selectors.today(salon=request.salon, at=now),
        initial={"name": request.GET.get("name", "")[:120]},
    )
    if request.method == "POST" and form.is_valid():
        fields = {k: v for k, v in form.cleaned_data.items() if k != "version"}
        client = services.register_client(by=request.user, at=now, **fields)
        messages.success(request, _("%(name)s is registered.") % {"name": client.name})
        return redirect("clients:detail", client.pk)
    status = 422 if form.errors else 200
    return render(request, "clients/new.html", {"form": form}, status=status)


@allow(DESK)
@require_GET
def detail(request: SalonRequest, pk: int) -> HttpResponse:
    """Show everything known of a client in one place."""
    client = access.client_or_404(request, pk)
    now = timezone.now()
    context = {
        "client": client,
        "alerts": selectors.alerts_in_force(client=client),
        "states": selectors.client_states(client=client, at=now),
        "upcoming": selectors.upcoming(client=client, at=now),
        "tests": selectors.patch_history(client=client),
        "timeline": selectors.client_timeline(client=client),
        "age": client.age_on(selectors.today(salon=request.salon, at=now)),
        "alert_form": AlertForm(),
    }
    return render(request, "clients/detail.html", context)


@allow(DESK)
@require_http_methods(["GET", "POST"])
def edit(request: SalonRequest, pk: int) -> HttpResponse:
    """Change a client; the second of two people is told and keeps what they typed."""
    client = access.client_or_404(request, pk)
    now = timezone.now()
    form = ClientForm(
        request.POST or None,
        instance=access.client_or_404(request, pk),
        salon=request.salon,
        today=selectors.today(salon=request.salon, at=now),
    )
    status = 200
    if request.method == "POST" and form.is_valid():
        fields = dict(form.cleaned_data)
        expected = fields.pop("version") or 0
        try:
            services.change_client(
                client=client, expected_version=expected, by=request.user, at=now, **fields
            )
            messages.success(request, _("Saved."))
            return redirect("clients:detail", client.pk)
        except services.StaleClient as refusal:
            form.add_error(None, str(refusal))
            form.data = form.data.copy()
            form.data["version"] = str(access.client_or_404(request, pk).version)
            status = 409
    elif form.errors:
        status = 422
    context = {
        "client": access.client_or_404(request, pk),
        "form": form,
        "stale": status == 409,
    }
    return render(request, "clients/edit.html", context, status=status)


@allow(DESK)
@once
@require_POST
def add_alert(request: SalonRequest, pk: int) -> HttpResponse:
    """Put up an alert."""
    client = access.client_or_404(request, pk)
    form = AlertForm(request.POST)
    if form.is_valid():
        services.raise_alert(
            client=client, by=request.user, at=timezone.now(), **form.cleaned_data
        )
        return redirect("clients:detail", client.pk)
    return render(
        request, "clients/alert.html", {"client": client, "alert_form": form}, status=422
    )
