"""The owner's pages on what clients may ask for, and on what goes with time."""

from collections.abc import Callable
from typing import Any

from django import forms
from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from clients import access, services, tasks
from clients.forms.privacy import (
    AskErasureForm,
    ConsentFilterForm,
    LiftForm,
    RestrictForm,
)
from clients.models import AccessKind, Client
from clients.people import person
from clients.selectors import privacy as selectors
from salon.access import OWNER, SalonRequest, allow
from salon.attempts import attempt, press
from salon.files.giving import give
from salon.selectors import policy_in_force
from salon.submissions import once
from salon.work import runs
from salon.work.status import is_worker_alive

PAGE = 50


@allow(OWNER, shows=AccessKind.CLIENT)
@once
@require_http_methods(["GET", "POST"])
def rights(request: SalonRequest, pk: int) -> HttpResponse:
    """Show what a client asked for and what has to stay; erase, stop, shut and open."""
    client = person.root(access.stored_client_or_404(request, pk))
    now, act = timezone.now(), request.POST.get("act", "")
    posted = request.POST if request.method == "POST" else None
    forms_by_act: dict[str, forms.Form] = {
        "ask": AskErasureForm(posted if act == "ask" else None),
        "restrict": RestrictForm(posted if act == "restrict" else None),
        "lift": LiftForm(posted if act == "lift" else None),
        "stop": forms.Form(posted if act == "stop" else None),
        "erase": forms.Form(posted if act == "erase" else None),
    }
    status = 200
    if request.method == "POST" and act in forms_by_act:
        write, message = _act(act, client, request)
        tried = attempt(request, forms_by_act[act], write)
        if tried.saved:
            messages.success(request, message)
            return redirect("clients:rights", client.pk)
        status = tried.status
    elif request.method == "POST":
        return HttpResponse(status=400)
    context = {
        "client": client,
        "rights": selectors.rights_of(client=client, at=now),
        "forms": forms_by_act,
        "years": selectors.keep_years(salon=request.salon, at=now),
        "days": selectors.WAIT.days,
        "now": now,
    }
    return render(request, "clients/rights.html", context, status=status)


def _act(
    name: str, client: Client, request: SalonRequest
) -> tuple[Callable[[dict[str, Any]], object], str]:
    """Return what a button does, and the message once it is done."""
    who: dict[str, Any] = {"client": client, "by": request.user, "at": timezone.now()}
    acts: dict[str, tuple[Callable[[dict[str, Any]], object], str]] = {
        "ask": (
            lambda data: services.request_erasure(reason=data["reason"], **who),
            _("The request is on record."),
        ),
        "stop": (lambda data: services.stop_erasure(**who), _("The erasure is stopped.")),
        "erase": (lambda data: services.erase_client(**who), _("The data are erased.")),
        "restrict": (
            lambda data: services.restrict_client(reason=data["why"], **who),
            _("The record is shut."),
        ),
        "lift": (
            lambda data: services.lift_restriction(
                is_client_informed=data["is_client_informed"], **who
            ),
            _("The record is open again."),
        ),
    }
    return acts[name]


@allow(OWNER)
@require_GET
def retention(request: SalonRequest) -> HttpResponse:
    """Show what is past its time, what waits, and what earlier runs did."""
    now = timezone.now()
    latest = runs.latest(kind=services.RETENTION, salon=request.salon)
    overdue = selectors.overdue(salon=request.salon, at=now)
    kept, more_kept = selectors.kept_erasures(salon=request.salon)
    context = {
        "overdue": overdue,
        "is_due": any(overdue.counts().values()),
        "waiting": selectors.waiting_erasures(salon=request.salon),
        "kept": kept,
        "more_kept": more_kept,
        "runs": selectors.retention_runs(salon=request.salon),
        "run": latest,
        "is_at_work": latest is not None and latest.is_open and runs.is_at_work(latest),
        "is_worker_alive": is_worker_alive(),
        "policy": policy_in_force(salon=request.salon),
        "years": selectors.keep_years(salon=request.salon, at=now),
    }
    return render(request, "clients/retention.html", context)


@allow(OWNER)
@require_POST
def run_retention(request: SalonRequest) -> HttpResponse:
    """Begin the run of the coming night now; the page shows how far it is."""
    press(request, lambda: tasks.begin_retention(by=request.user, at=timezone.now()))
    return redirect("clients:retention")


@allow(OWNER)
@require_http_methods(["GET", "POST"])
def consent_register(request: SalonRequest) -> HttpResponse:
    """Show what clients agreed to and withdrew; or give it as a file."""
    form = ConsentFilterForm(request.GET or None)
    is_good = not form.is_bound or form.is_valid()
    if request.method == "POST" and is_good:
        filters = {name: request.GET[name] for name in form.fields if request.GET.get(name)}
        return give(request, "consents", **filters)
    wanted = form.cleaned_data if form.is_bound and is_good else {}
    rows = selectors.consent_rows(salon=request.salon, **wanted)
    context = {
        "form": form,
        "page": Paginator(rows, PAGE).get_page(request.GET.get("page")),
        "query": _query(request),
    }
    return render(
        request, "clients/consent_register.html", context, status=200 if is_good else 422
    )


def _query(request: HttpRequest) -> str:
    query = request.GET.copy()
    query.pop("page", None)
    return query.urlencode()
