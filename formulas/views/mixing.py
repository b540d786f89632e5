"""How much a bowl holds and how finely it is weighed: the owner's table."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from formulas import services
from formulas.forms import MixingRulesForm
from formulas.mixing_rules import rules_history, rules_in_force
from salon.access import OWNER, SalonRequest, allow
from salon.submissions import once


@allow(OWNER)
@once
@require_http_methods(["GET", "POST"])
def mixing_rules(request: SalonRequest) -> HttpResponse:
    """Show the rules of mixing and put others in force."""
    current = rules_in_force(salon=request.salon)
    form = MixingRulesForm(
        request.POST or None, initial=MixingRulesForm(instance=current).initial
    )
    if request.method == "POST" and form.is_valid():
        services.revise_mixing_rules(by=request.user, at=timezone.now(), **form.cleaned_data)
        messages.success(request, _("Amounts saved. New bowls use them."))
        return redirect("formulas:lines")
    history = rules_history(salon=request.salon)
    context = {"form": form, "history": history[:20]}
    status = 422 if form.errors else 200
    return render(request, "formulas/mixing_rules.html", context, status=status)
