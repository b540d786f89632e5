"""The page on which everybody signs in."""

from typing import Any

from django.contrib.auth.forms import AuthenticationForm
from django.contrib.auth.views import LoginView
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils import timezone

from salon import selectors, services
from salon.accounts import SignInForm
from salon.passkeys import ceremony
from salon.second_factor import half
from salon.second_factor import views as second_factor


class SignIn(LoginView):
    """Signing in with a name and a password."""

    template_name = "salon/sign_in.html"
    redirect_authenticated_user = True
    authentication_form = SignInForm

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        """Offer a passkey where the address is one that passkeys are bound to."""
        return super().get_context_data(
            passkeys_work=ceremony.works_here(self.request), **kwargs
        )

    def form_valid(self, form: AuthenticationForm) -> HttpResponse:
        """Let in whoever has given all that is asked; ask the others for their code."""
        staff, back = form.get_user(), self.get_redirect_url()
        if not selectors.has_second_factor(staff=staff):
            return second_factor.come_in(self.request, staff, back=back)
        half.begin(self.request, staff, back=back, at=timezone.now())
        return redirect("salon:second_step")

    def form_invalid(self, form: AuthenticationForm) -> HttpResponse:
        """Record the refusal where the name is somebody's."""
        name = str(form.cleaned_data.get("username", ""))
        services.record_refusal(username=name, at=timezone.now())
        return super().form_invalid(form)
