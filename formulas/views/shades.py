"""Shades: added and changed by the owner."""

from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
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
from salon.numbers import row_number
from salon.submissions import once


@allow(OWNER)
@once
@require_http_methods(["GET", "POST"])
def new(request: SalonRequest, pk: int) -> HttpResponse:
    """Add a shade to a line."""
    line = access.line_or_404(request, pk)
    form = ShadeForm(request.POST or None, line=line, copied=_copied(request, line))
    status = 200
    if request.method == "POST" and form.is_valid():
        try:
            shade = services.add_shade(
                line=line, by=request.user, at=timezone.now(), **form.fields_of_shade()
            )
            messages.success(request, _("%(name)s is added.") % {"name": shade.name})
            if "another" in request.POST:
                address = reverse("formulas:new_shade", args=[pk])
                return redirect(f"{address}?copy={shade.pk}")
            return redirect("formulas:line", pk)
        except (services.ShadeRefused, ValidationError) as refusal:
            _add(form, refusal)
    return _page(request, form, line, _("Add a shade"), status)


def _copied(request: SalonRequest, line: ProductLine) -> Shade | None:
    """Return the shade of this line that the next one is to be like, where one is named."""
    number = row_number(request.GET.get("copy", ""))
    return line.shades.filter(pk=number).first() if number else None


@allow(OWNER)
@require_http_methods(["GET", "POST"])
def edit(request: SalonRequest, pk: int) -> HttpResponse:
    """Change a shade; of two people, the second is told and keeps what they typed."""
    shade = access.shade_or_404(request, pk)
    form = ShadeForm(request.POST or None, line=shade.line, shade=shade)
    status, differences = 200, []
    if request.method == "POST" and form.is_valid():
        try:
            services.change_shade(
                shade=access.shade_or_404(request, pk),
                expected_version=form.cleaned_data["version"],
                by=request.user,
                at=timezone.now(),
                **form.fields_of_shade(),
            )
            messages.success(request, _("%(name)s is saved.") % {"name": shade.name})
            return redirect("formulas:line", shade.line_id)
        except services.StaleLine as refusal:
            form.add_error(None, str(refusal))
            current = access.shade_or_404(request, pk)
            differences = reread(form, ShadeForm(line=current.line, shade=current))
            status = 409
        except (services.ShadeRefused, ValidationError) as refusal:
            _add(form, refusal)
    title = _("Change a shade")
    return _page(request, form, shade.line, title, status, differences=differences)


def _add(form: ShadeForm, refusal: Exception) -> None:
    form.add_error(None, refusal if isinstance(refusal, ValidationError) else str(refusal))


def _page(
    request: SalonRequest,
    form: ShadeForm,
    line: ProductLine,
    title: str,
    status: int,
    **more: Any,
) -> HttpResponse:
    status = 422 if form.errors and status == 200 else status
    context: dict[str, Any] = {"form": form, "line": line, "title": title, **more}
    return render(request, "formulas/shade_form.html", context, status=status)
