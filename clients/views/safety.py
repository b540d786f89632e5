"""The safety questions, asked at the desk."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from clients import access, selectors, services
from clients.forms import SafetyForm
from clients.models import AccessKind
from clients.selectors.health_consent import health_consent, is_shut_for
from clients.skin_test.safety import QUESTIONS
from salon.access import DESK, SalonRequest, allow
from salon.submissions import once


@allow(DESK, shows=AccessKind.HEALTH)
@once
@require_http_methods(["GET", "POST"])
def safety(request: SalonRequest, pk: int) -> HttpResponse:
    """Ask the safety questions; a later answer applies, an earlier one stays on record."""
    client = access.client_or_404(request, pk)
    now = timezone.now()
    consent = health_consent(client=client, at=now)
    form = SafetyForm(request.POST if request.method == "POST" else None, consent=consent)
    if request.method == "POST" and form.is_valid():
        services.answer_safety_questions(
            client=client,
            answers=form.answers(),
            agreed_by=form.agreed_by(),
            by=request.user,
            at=now,
        )
        messages.success(request, _("Answers saved."))
        return redirect("clients:detail", client.pk)
    is_shut = is_shut_for(request.user, client=client)
    answers = {} if is_shut else selectors.safety_answers_in_force(client=client)
    context = {
        "client": client,
        "form": form,
        "hides_answers": not selectors.may_see_medical(request.user),
        "rows": [(form[q.key], q, answers.get(q.key)) for q in QUESTIONS],
    }
    return render(request, "clients/safety.html", context, status=422 if form.errors else 200)
