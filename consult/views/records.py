"""Histories: one client's tones through time, and what results say of a line."""

import datetime as dt
from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from clients.access import client_or_404
from clients.models import AccessKind
from consult import services, tasks
from consult.forms.two_visits import TwoVisitsForm
from consult.history import (
    background,
    comparison,
    control,
    earlier_tonings,
    findings,
    line_findings,
    looks,
    results_table,
    timeline,
)
from consult.history import histories as past
from consult.paper import pdf
from formulas import services as formulary
from formulas.access import line_or_404
from formulas.models import ProductLine
from formulas.strength_proposal import FEWEST_RESULTS, Proposal
from salon.access import BENCH, OWNER, SalonRequest, allow
from salon.csv_table import table_response
from salon.refusals import Refused
from salon.submissions import once
from salon.work.status import is_worker_alive

# A picture of more visits would be too narrow to read.
TONES_PAGE = 30
# Of so many visits, the latest, two can be chosen.
TWO_OF = 100
TONES_PAPER = pdf.Paper("cards/tones.html", flows=True)
LEARNING_PAPER = pdf.Paper("cards/learning.html", flows=True)


@allow(BENCH, shows=AccessKind.VISIT)
@require_GET
def tones(request: SalonRequest, pk: int) -> HttpResponse:
    """Show a client's tones through time: promised, seen, faded, runs; then each visit."""
    return render(request, "consult/tones.html", _tones(request, pk, at=timezone.now()))


@allow(BENCH, shows=AccessKind.PAPER)
@require_GET
def tones_pdf(request: SalonRequest, pk: int) -> HttpResponse:
    """Print the same, with the mixes: for a folder, or for a salon that a client moves to."""
    at = timezone.now()
    context = _tones(request, pk, at=at, on_paper=True)
    sheet = pdf.printed_paper(
        TONES_PAPER, {**context, "at": at, "salon": request.salon, "request": request}
    )
    return pdf.answer(sheet, f"colour-visits-{pk}")


def _tones(
    request: SalonRequest, pk: int, *, at: dt.datetime, on_paper: bool = False
) -> dict[str, Any]:
    """Return a client's tones through time, as page and paper show them."""
    client = client_or_404(request, pk)
    rows = Paginator(past.tones_of(client), TONES_PAGE).get_page(request.GET.get("page"))
    records = past.records_of(rows.object_list)
    runs = []
    if records:
        known = background.of_salon(salon=request.salon, at=at)
        runs = findings.of_person(looks.of_client(client), known)
    context = {
        "client": client,
        "page": rows,
        "records": records,
        "parts": timeline.parts_of(records, runs, at=at, on_paper=on_paper),
        "due": timeline.due_of(records, at=at) if rows.number == 1 else None,
        "years_to_a_false_mark": round(20 / control.FALSE_MARKS_PER_20_CLIENT_YEARS),
    }
    if rows.number == 1 and not on_paper:
        context["outlook"] = earlier_tonings.outlook(records, at=at)
    return context


@allow(BENCH, shows=AccessKind.VISIT)
@require_GET
def two_visits(request: SalonRequest, pk: int) -> HttpResponse:
    """Show any two of a client's colour visits side by side, the latest two at first."""
    client = client_or_404(request, pk)
    visits = list(past.tones_of(client).select_related("salon")[:TWO_OF])
    if len(visits) < 2:
        return render(request, "consult/two_visits.html", {"client": client})
    usual = {"left": visits[1].pk, "right": visits[0].pk}
    form = TwoVisitsForm({**usual, **request.GET.dict()}, visits=visits)
    chosen = form.cleaned_data if form.is_valid() else usual
    records = past.records_of(past.tones_of(client).filter(pk__in=chosen.values()))
    by_visit = {record.visit.pk: record for record in records}
    sides = [by_visit[chosen[name]] for name in ("left", "right")]
    status = 422 if form.errors else 200
    context = {"client": client, "form": form, "sides": sides}
    return render(request, "consult/two_visits.html", context, status=status)


@allow(OWNER)
@once
@require_http_methods(["GET", "POST"])
def learning(request: SalonRequest, pk: int) -> HttpResponse:
    """Show what a line's results say of it; compare again, put it to use, or undo that."""
    line = line_or_404(request, pk)
    status, refusal = 200, ""
    if request.method == "POST":
        try:
            if "compare" in request.POST:
                tasks.begin_comparison(line=line, by=request.user, at=timezone.now())
            elif "back" in request.POST:
                formulary.take_strengths_back(line=line, by=request.user, at=timezone.now())
                messages.success(
                    request, _("Undone. The earlier strengths and ranges are in use again.")
                )
            else:
                _accept(request, line)
                messages.success(request, _("Suggestions now use them."))
            return redirect("consult:learning", pk)
        except Refused as error:
            status, refusal = 409, str(error)
    known = comparison.comparison_of(line)
    context = {
        "line": line,
        "known": known,
        "proposal": known.proposal,
        "findings": line_findings.findings(known.proposal) if known.proposal else None,
        "refusal": refusal,
        "fewest": FEWEST_RESULTS,
        "is_worker_alive": is_worker_alive(),
        "revisions": line.strength_revisions.select_related("accepted_by")[:20],
    }
    return render(request, "consult/learning.html", context, status=status)


def _accept(request: SalonRequest, line: ProductLine) -> None:
    """Put to use what the page showed, if it is still of every result."""
    known = comparison.comparison_of(line)
    is_shown = known.proposal and request.POST.get("key") == known.proposal.key
    is_of_now = is_shown and known.made and comparison.is_of_now(line, known.made)
    if not known.proposal or not is_of_now:
        raise tasks.ComparisonRefused(
            _("New results have come in since. Compare again, then decide."), code="new_results"
        )
    formulary.accept_strengths(
        line=line, proposal=known.proposal, by=request.user, at=timezone.now()
    )


def _compared(request: SalonRequest, line: ProductLine) -> Proposal | None:
    """Return what a line's page shows, for a file; say where there is nothing yet."""
    proposal = comparison.comparison_of(line).proposal
    if proposal is None:
        messages.error(request, _("Compare the line with your results first."))
    return proposal


@allow(OWNER)
@require_POST
def learning_csv(request: SalonRequest, pk: int) -> HttpResponse:
    """Give what results say of a line's shades as CSV."""
    proposal = _compared(request, line_or_404(request, pk))
    if proposal is None:
        return redirect("consult:learning", pk)
    services.record_results_export(by=request.user, at=timezone.now(), table="strengths")
    return table_response(f"strengths-{pk}.csv", *results_table.strengths_table(proposal))


@allow(OWNER)
@require_POST
def learning_pdf(request: SalonRequest, pk: int) -> HttpResponse:
    """Print what a line's results say of it, every table of the page."""
    line, at = line_or_404(request, pk), timezone.now()
    proposal = _compared(request, line)
    if proposal is None:
        return redirect("consult:learning", pk)
    services.record_results_export(by=request.user, at=at, table="strengths-pdf")
    context = {
        "salon": request.salon, "request": request, "at": at, "line": line,
        "proposal": proposal, "findings": line_findings.findings(proposal),
    }  # fmt: skip
    return pdf.answer(pdf.printed_paper(LEARNING_PAPER, context), f"strengths-{pk}")
