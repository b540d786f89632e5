"""The owner's page: what needs a person today, how results compare, the list of each figure."""

import datetime as dt

from django.core.paginator import Paginator
from django.http import HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from consult import results_files
from consult.forms.histories import read_question
from consult.history import background, behind_figures, conduct, control, overview
from consult.history import histories as past
from consult.history.needs import needs_now
from formulas.selectors import active_lines
from salon.access import OWNER, SalonRequest, allow
from salon.files.giving import give
from salon.keyset import slice_of
from salon.reading_once import reading_once
from salon.replica import reads_replica

PAGE = 25
PERIODS = (30, 90, 365)


@allow(OWNER, by_pin=True)
@require_GET
@reads_replica
@reading_once()
def histories(request: SalonRequest) -> HttpResponse:
    """Show what needs the owner today, and how the results of a time compare."""
    at = timezone.now()
    form, question = read_question(request.GET, salon=request.salon, at=at)
    went = results_files.how_visits_went(question, at)  # looks back longest: it comes first
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
        **went,
        **results_files.reaches(answer),
        "years_to_a_false_mark": round(20 / control.FALSE_MARKS_PER_20_CLIENT_YEARS),
        "most_visits": background.MOST_VISITS,
        "has_closed_visits": past.has_closed_visits(salon=request.salon),
        "lines": active_lines(salon=request.salon),
    }
    status = 422 if form.errors else 200
    return render(request, "consult/histories.html", context, status=status)


@allow(OWNER)
@require_POST
def results_csv(request: SalonRequest) -> HttpResponse:
    """Give one table of a time as CSV: lines, stylists or clients."""
    return _given(request, "results_csv", table=request.POST.get("table", ""))


@allow(OWNER)
@require_POST
def results_pdf(request: SalonRequest) -> HttpResponse:
    """Print the page's tables with their plots."""
    return _given(request, "results_pdf")


@allow(OWNER, by_pin=True)
@require_GET
@reads_replica
def visit_list(request: SalonRequest) -> HttpResponse:
    """List the visits behind a figure of the owner's page."""
    form, question = read_question(request.GET, salon=request.salon, at=timezone.now())
    kind = request.GET.get("kind", conduct.Kind.EVERY)
    if kind not in list(conduct.Kind):
        kind = conduct.Kind.EVERY
    part = request.GET.get("part", "")
    visits = behind_figures.listed(question, kind, part)
    if form.errors:
        visits = visits.none()
    page = slice_of(visits.only("opened_at"), request.GET, by="opened_at", size=PAGE)
    context = {
        "question": question,
        "kind": kind,
        "part": part,
        "title": conduct.labels()[kind],
        "kept": _kept(request.GET),
        "found": visits.count(),
        "page": page,
        "rows": behind_figures.rows_of(question, [visit.pk for visit in page]),
    }
    return render(
        request, "consult/visit_list.html", context, status=422 if form.errors else 200
    )


@allow(OWNER)
@require_POST
def visit_list_pdf(request: SalonRequest) -> HttpResponse:
    """Print the visits behind a figure, the latest of a long list."""
    return _given(request, "visits_pdf")


def _given(request: SalonRequest, name: str, **arguments: str) -> HttpResponse:
    """Give a file about what is asked; lead back where it asks nothing sensible."""
    form, question = read_question(request.POST, salon=request.salon, at=timezone.now())
    kind = request.POST.get("kind", conduct.Kind.EVERY)
    known = arguments.get("table", "visits") in results_files.TABLES
    if form.errors or not known or kind not in list(conduct.Kind):
        return redirect("consult:histories")
    part = request.POST.get("part", "")[:20]
    return give(request, name, **arguments, **dict(question.as_fields), kind=kind, part=part)


def _kept(data: QueryDict) -> str:
    """Return what is asked, as an address keeps it from page to page."""
    kept = data.copy()
    for place in ("page", "after", "before"):
        kept.pop(place, None)
    return kept.urlencode()
