"""Histories: one client's tones in a row, and how everyone's came out."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods

from clients.access import client_or_404
from consult.history import costs, earlier_tonings, line_findings, line_results
from consult.history import histories as past
from formulas import services as formulary
from formulas.access import line_or_404
from formulas.selectors import active_lines
from formulas.strength_proposal import FEWEST_RESULTS, propose
from salon.access import BENCH, OWNER, SalonRequest, allow
from salon.submissions import once

PAGE = 25


@allow(BENCH)
@require_GET
def tones(request: SalonRequest, pk: int) -> HttpResponse:
    """Show every toning visit of a client: formula, choice, predicted, seen."""
    client = client_or_404(request, pk)
    rows = Paginator(past.tones_of(client), PAGE).get_page(request.GET.get("page"))
    records = past.records_of(rows.object_list)
    context = {"client": client, "page": rows, "records": records}
    if rows.number == 1:
        context["outlook"] = earlier_tonings.outlook(records, at=timezone.now())
    return render(request, "consult/tones.html", context)


@allow(OWNER, by_pin=True)
@require_GET
def histories(request: SalonRequest) -> HttpResponse:
    """Show how each client's tones came out against their predictions."""
    rows = Paginator(past.toned_people(salon=request.salon), PAGE)
    shown = rows.get_page(request.GET.get("page"))
    people = [row["person"] for row in shown.object_list]
    chosen = request.GET.get("days", "")
    days = int(chosen) if chosen in {str(n) for n in costs.PERIODS} else costs.PERIODS[1]
    context = {
        "page": shown,
        "histories": past.client_histories(people),
        "period": costs.period(salon=request.salon, days=days, at=timezone.now()),
        "periods": costs.PERIODS,
        "lines": active_lines(salon=request.salon),
    }
    return render(request, "consult/histories.html", context)


@allow(OWNER)
@once
@require_http_methods(["GET", "POST"])
def learning(request: SalonRequest, pk: int) -> HttpResponse:
    """Show what a line's results say of it; put it to use, or undo that."""
    line = line_or_404(request, pk)
    proposal = propose(line=line, results=line_results.results_of(line))
    status, refusal = 200, ""
    if request.method == "POST":
        try:
            if "back" in request.POST:
                formulary.take_strengths_back(line=line, by=request.user, at=timezone.now())
                messages.success(
                    request, _("Undone. The earlier strengths and ranges are in use again.")
                )
                return redirect("consult:learning", pk)
            if request.POST.get("key") == proposal.key:
                formulary.accept_strengths(
                    line=line, proposal=proposal, by=request.user, at=timezone.now()
                )
                messages.success(request, _("Suggestions now use them."))
                return redirect("consult:learning", pk)
            status = 409
            refusal = _("New results have come in since. Look again, then decide.")
        except (formulary.StrengthsRefused, formulary.StaleLine) as error:
            status, refusal = 409, str(error)
    context = {
        "line": line,
        "proposal": proposal,
        "findings": line_findings.findings(proposal),
        "refusal": refusal,
        "fewest": FEWEST_RESULTS,
        "revisions": line.strength_revisions.select_related("accepted_by")[:20],
    }
    return render(request, "consult/learning.html", context, status=status)
