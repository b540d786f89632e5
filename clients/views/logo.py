"""The salon's logo: choose it, look at it, remove it."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from clients.forms.logo import LogoForm
from salon import logo, services
from salon.access import OWNER, SalonRequest, allow


@allow(OWNER)
@require_http_methods(["GET", "POST"])
def change_logo(request: SalonRequest) -> HttpResponse:
    """Show the logo, and take another."""
    posted = request.method == "POST"
    form = LogoForm(request.POST, request.FILES) if posted else LogoForm()
    if posted and form.is_valid():
        services.set_logo(content=form.picture.small, by=request.user, at=timezone.now())
        messages.success(request, _("Saved. Papers and the sign-in page show it from now on."))
        return redirect("clients:change_logo")
    context = {"form": form, "logo": logo.of_salon(request.salon)}
    status = 422 if form.errors else 200
    return render(request, "clients/logo.html", context, status=status)


@allow(OWNER)
@require_POST
def remove_logo(request: SalonRequest) -> HttpResponse:
    """Show the salon's name alone again."""
    services.remove_logo(by=request.user, at=timezone.now())
    messages.success(request, _("The logo is removed."))
    return redirect("clients:change_logo")
