"""Which of all mixes are offered: the owner's practice."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from formulas import mixing_rules, services
from formulas.forms import PracticeForm
from formulas.practice_rules import rules_history, rules_in_force
from salon.access import OWNER, SalonRequest, allow
from salon.submissions import once


@allow(OWNER)
@once
@require_http_methods(["GET", "POST"])
def practice(request: SalonRequest) -> HttpResponse:
    """Show the practice in force and put another in force."""
    current = rules_in_force(salon=request.salon)
    form = PracticeForm(request.POST or None, initial=PracticeForm(instance=current).initial)
    if request.method == "POST" and form.is_valid():
        services.revise_practice(by=request.user, at=timezone.now(), **form.cleaned_data)
        messages.success(request, _("The practice is changed. New suggestions follow it."))
        return redirect("formulas:lines")
    context = {
        "form": form,
        "smallest_grams": mixing_rules.rules_in_force(salon=request.salon).least_grams,
        "history": rules_history(salon=request.salon)[:20],
    }
    status = 422 if form.errors else 200
    return render(request, "formulas/practice.html", context, status=status)
