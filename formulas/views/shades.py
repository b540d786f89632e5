"""Shades: added and changed by the owner."""

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from formulas import access, services
from formulas.forms import ShadeForm
from formulas.models import ProductLine, Shade
from formulas.views.stale import reread
from salon.access import OWNER, SalonRequest, allow
from salon.attempts import attempt
from salon.numbers import row_number
from salon.refusals import Stale
from salon.submissions import once


@allow(OWNER)
@once
@require_http_methods(["GET", "POST"])
def new(request: SalonRequest, pk: int) -> HttpResponse:
    """Add a shade to a line."""
    line = access.line_or_404(request, pk)
    form = ShadeForm(request.POST or None, line=line, copied=_copied(request, line))
    tried = attempt(
        request,
        form,
        lambda _data: services.add_shade(
            line=line, by=request.user, at=timezone.now(), **form.fields_of_shade()
        ),
    )
    if tried.result:
        messages.success(request, _("%(name)s is added.") % {"name": tried.result.name})
        if "another" in request.POST:
            address = reverse("formulas:new_shade", args=[pk])
            return redirect(f"{address}?copy={tried.result.pk}")
        return redirect("formulas:line", pk)
    return _page(request, form, line, _("Add a shade"), tried.status)


def _copied(request: SalonRequest, line: ProductLine) -> Shade | None:
    """Return the shade of this line that the next one is to be like, where one is named."""
    number = row_number(request.GET.get("copy", ""))
    return line.shades.filter(pk=number).first() if number else None


@allow(OWNER)
@require_http_methods(["GET", "POST"])
def edit(request: SalonRequest, pk: int) -> HttpResponse:
    """Change a shade; the second of two people sees the difference and keeps their input."""
    shade = access.shade_or_404(request, pk)
    form = ShadeForm(request.POST or None, line=shade.line, shade=shade)
    differences = []
    tried = attempt(
        request,
        form,
        lambda data: services.change_shade(
            shade=access.shade_or_404(request, pk),
            expected_version=data["version"],
            by=request.user,
            at=timezone.now(),
            **form.fields_of_shade(),
        ),
    )
    if tried.saved:
        messages.success(request, _("%(name)s is saved.") % {"name": shade.name})
        return redirect("formulas:line", shade.line_id)
    if isinstance(tried.refusal, Stale):
        current = access.shade_or_404(request, pk)
        differences = reread(form, ShadeForm(line=current.line, shade=current))
    title = _("Change a shade")
    return _page(request, form, shade.line, title, tried.status, differences=differences)


def _page(
    request: SalonRequest,
    form: ShadeForm,
    line: ProductLine,
    title: str,
    status: int,
    **more: Any,
) -> HttpResponse:
    context: dict[str, Any] = {"form": form, "line": line, "title": title, **more}
    return render(request, "formulas/shade_form.html", context, status=status)
