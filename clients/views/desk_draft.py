"""Keeping and bringing back what is typed into a form of the desk."""

import json
from typing import Any

from django import forms
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_POST

from clients import selectors, services
from clients.forms import DraftForm
from salon.access import DESK, SalonRequest, allow

LONGEST = 500
NOT_TYPED = frozenset({"csrfmiddlewaretoken", "once"})


@allow(DESK)
@require_POST
def keep(request: SalonRequest) -> HttpResponse:
    """Keep what a page's form holds now."""
    form = DraftForm(request.POST)
    if not form.is_valid():
        return HttpResponse(status=422)
    services.keep_draft(by=request.user, at=timezone.now(), **form.cleaned_data)
    return HttpResponse(status=204)


@allow(DESK)
@require_POST
def drop(request: SalonRequest) -> HttpResponse:
    """Drop the draft, and open the page again."""
    address = request.POST.get("address", "")[:LONGEST]
    services.drop_draft(address=address, by=request.user)
    safe = url_has_allowed_host_and_scheme(address, {request.get_host()})
    return redirect(address if safe and address.startswith("/") else "clients:day")


def address_of(request: SalonRequest) -> str:
    """Return what a page's draft is kept under: its path and query."""
    return request.get_full_path()[:LONGEST]


def typed(request: SalonRequest) -> Any:
    """Return what was left in the form of the page that is opened, or None."""
    if request.method != "GET":
        return None
    return selectors.typed_before(
        address=address_of(request), by=request.user, at=timezone.now()
    )


def keep_refused(request: SalonRequest) -> None:
    """Keep what a form held that was refused: Back leads to it, however late its own copy is.

    The page sends a copy of its own as it sends the form; on a slow network Back overtakes it.
    """
    fields = [
        [name, value]
        for name, values in request.POST.lists()
        if name not in NOT_TYPED
        for value in map(str, values)
    ]
    form = DraftForm(
        {"address": address_of(request), "fields_json": json.dumps(fields), "once": ""}
    )
    if request.method == "POST" and form.is_valid():
        services.keep_draft(by=request.user, at=timezone.now(), **form.cleaned_data)


def forget(request: SalonRequest) -> None:
    """Forget the draft of a form that has just been saved."""
    services.drop_draft(address=address_of(request), by=request.user)


def fill(form: forms.BaseForm, left: Any) -> None:
    """Draw a form with what was left in it; hidden numbers of its version stay its own."""
    if left is None:
        return
    for name, field in form.fields.items():
        if isinstance(field, forms.BooleanField):
            form.initial[name] = name in left.values
        elif name in left.values:
            form.initial[name] = left.values[name]
