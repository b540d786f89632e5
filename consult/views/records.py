"""Histories: one client's tones through time, and how everyone's came out."""

import datetime as dt

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from clients.access import client_or_404
from consult import services
from consult.forms.histories import PeriodForm
from consult.history import (
    control,
    earlier_tonings,
    findings,
    line_findings,
    line_results,
    looks,
    overview,
    results_table,
    timeline,
)
from consult.history import histories as past
from consult.history.needs import needs_now
from formulas import services as formulary
from formulas.access import line_or_404
from formulas.selectors import active_lines
from formulas.strength_proposal import FEWEST_RESULTS, propose
from salon.access import BENCH, OWNER, SalonRequest, allow
from salon.csv_table import table_response
from salon.submissions import once

PAGE = 25
PERIODS = (30, 90, 365)
# A picture of more visits would be too narrow to read.
TONES_PAGE = 30


@allow(BENCH)
@require_GET
def tones(request: SalonRequest, pk: int) -> HttpResponse:
    """Show a client's tones through time: promised, seen, faded, runs; then each visit."""
    client = client_or_404(request, pk)
    at = timezone.now()
    rows = Paginator(past.tones_of(client), TONES_PAGE).get_page(request.GET.get("page"))
    records = past.records_of(rows.object_list)
    runs = []
    if records:
        known = findings.background(salon=request.salon, at=at)
        runs = findings.of_person(looks.of_client(client), known)
    context = {
        "client": client,
        "page": rows,
        "records": records,
        "parts": timeline.parts_of(records, runs, at=at),
        "due": timeline.due_of(records, at=at) if rows.number == 1 else None,
        "years_to_a_false_mark": round(20 / control.FALSE_MARKS_PER_20_CLIENT_YEARS),
    }
    if rows.number == 1:
        context["outlook"] = earlier_tonings.outlook(records, at=at)
    return render(request, "consult/tones.html", context)


@allow(OWNER, by_pin=True)
@require_GET
def histories(request: SalonRequest) -> HttpResponse:
    """Show what needs the owner today, and how the results of a time compare."""
    at = timezone.now()
    form, question = _question(request, request.GET, at)
    known, runs = overview.runs_now(salon=request.salon, at=at)
    needs, more = needs_now(salon=request.salon, known=known, runs=runs, at=at)
    answer = overview.overview(question, runs)
    rows = Paginator(answer.clients, PAGE).get_page(request.GET.get("page"))
    context = {
        "form": form,
        "question": question,
        "kept": _kept(request.GET),
        "periods": [(n, question.last - dt.timedelta(days=n - 1)) for n in PERIODS],
        "days": (question.last - question.first).days + 1,
        "needs": needs,
        "more": more,
        "answer": answer,
        "page": rows,
        "depth_reach": _reach(answer, "depth", least=0.5),
        "warmth_reach": _reach(answer, "warmth", least=15.0),
        "years_to_a_false_mark": round(20 / control.FALSE_MARKS_PER_20_CLIENT_YEARS),
        "has_closed_visits": past.toned_people(salon=request.salon).exists(),
        "lines": active_lines(salon=request.salon),
    }
    status = 422 if form.errors else 200
    return render(request, "consult/histories.html", context, status=status)


@allow(OWNER)
@require_POST
def results_csv(request: SalonRequest) -> HttpResponse:
    """Give one table of a time as CSV: lines, stylists or clients."""
    at = timezone.now()
    form, question = _question(request, request.POST, at)
    table = request.POST.get("table", "")
    if form.errors or table not in results_table.TABLES:
        return redirect("consult:histories")
    services.record_results_export(by=request.user, at=at, table=table)
    _known, runs = overview.runs_now(salon=request.salon, at=at)
    header, rows = results_table.table(table, overview.overview(question, runs))
    return table_response(f"{table}-{question.first}-{question.last}.csv", header, rows)


def _question(
    request: SalonRequest, data: QueryDict, at: dt.datetime
) -> tuple[PeriodForm, overview.Question]:
    """Return the form and what it asks; the usual time where it asks nothing sensible."""
    today = at.astimezone(request.salon.zone).date()
    wanted = data.copy()
    if not wanted.get("first") and not wanted.get("last"):
        first, last = PeriodForm.usual(today)
        wanted["first"], wanted["last"] = first.isoformat(), last.isoformat()
    form = PeriodForm(wanted, salon=request.salon, today=today)
    cleaned = form.cleaned_data if form.is_valid() else {}
    first, last = form.period(cleaned)
    return form, overview.Question(
        request.salon,
        first,
        last,
        cleaned.get("stylist"),
        cleaned.get("line"),
        cleaned.get("zone", ""),
    )


def _kept(data: QueryDict) -> str:
    """Return what is asked, as an address keeps it from page to page."""
    kept = data.copy()
    kept.pop("page", None)
    return kept.urlencode()


def _reach(answer: overview.Overview, number: str, *, least: float) -> float:
    """Return how far the interval plots reach either way, the same for a whole column."""
    known = [getattr(group, number) for group in [*answer.lines, *answer.stylists]]
    ends = [max(abs(t.low), abs(t.high)) for t in known if t is not None]
    return float(max([least, *ends]))


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
