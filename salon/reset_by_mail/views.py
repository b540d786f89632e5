"""Asking for a link, and choosing a password behind it: Django's own views, our words."""

from typing import Any

from django.contrib import messages
from django.contrib.auth import views
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect
from django.urls import reverse_lazy
from django.utils.decorators import method_decorator
from django.utils.translation import gettext as _
from django.views.decorators.debug import sensitive_post_parameters
from django.views.generic import FormView

from salon import mail
from salon.reset_by_mail.forms import ForgottenForm, NewPasswordForm
from salon.reset_by_mail.tasks import queue_for


@method_decorator(login_not_required, name="dispatch")
class Forgotten(FormView[ForgottenForm]):
    """Queue a link to who forgot their password; the answer is the same for every name."""

    template_name = "salon/forgotten.html"
    form_class = ForgottenForm
    success_url = reverse_lazy("salon:sign_in")

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return super().get_context_data(has_mail=not mail.has_no_server(), **kwargs)

    def form_valid(self, form: ForgottenForm) -> HttpResponse:
        """Queue it: the work of the request is the same for every name."""
        queue_for(form.cleaned_data["username"])
        messages.success(
            self.request,
            _("A link is on its way if there is an e-mail address for this name."),
        )
        return redirect(self.get_success_url())

    def form_invalid(self, form: ForgottenForm) -> HttpResponse:
        return self.render_to_response(self.get_context_data(form=form), status=422)


@method_decorator(login_not_required, name="dispatch")
class NewPassword(views.PasswordResetConfirmView):
    """Choose a password behind a link that was mailed; it works once."""

    template_name = "salon/new_password.html"
    form_class = NewPasswordForm
    success_url = reverse_lazy("salon:sign_in")

    @method_decorator(sensitive_post_parameters())
    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        response = super().dispatch(request, *args, **kwargs)
        response["Cache-Control"] = "no-store"
        return response

    def form_valid(self, form: NewPasswordForm) -> HttpResponse:
        messages.success(self.request, _("Your password is changed. Sign in with it."))
        return super().form_valid(form)

    def form_invalid(self, form: NewPasswordForm) -> HttpResponse:
        return self.render_to_response(self.get_context_data(form=form), status=422)
