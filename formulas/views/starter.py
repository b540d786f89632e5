"""A line to begin with, made in one go."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from formulas import services
from formulas.forms import StarterForm
from formulas.services.starter import STARTER_SHADES
from salon.access import OWNER, SalonRequest, allow
from salon.submissions import once


@allow(OWNER)
@once
@require_http_methods(["GET", "POST"])
def starter_line(request: SalonRequest) -> HttpResponse:
    """Say what the starting point is; make it."""
    form = StarterForm(
        request.POST or None, salon=request.salon, initial={"name": _("Our toner line")}
    )
    if request.method == "POST" and form.is_valid():
        line = services.add_starter_line(
            by=request.user, at=timezone.now(), **form.cleaned_data
        )
        messages.success(request, _("%(name)s is ready. Make it your own.") % {"name": line})
        return redirect("formulas:line", line.pk)
    context = {"form": form, "shades": STARTER_SHADES}
    status = 422 if form.errors else 200
    return render(request, "formulas/starter.html", context, status=status)
