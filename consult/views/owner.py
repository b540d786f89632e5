"""The owner's page: what needs a person today, how results compare, the list of each figure."""

import datetime as dt
from typing import Any

from django.core.paginator import Paginator
from django.http import HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from consult import services
from consult.forms.histories import PeriodForm
from consult.history import (
    behind_figures,
    conduct,
    control,
    findings,
    overdue,
    overview,
    results_table,
)
from consult.history import histories as past
from consult.history.needs import needs_now
from consult.history.question import Question, visits_in_question
from consult.paper import pdf
from formulas.selectors import active_lines
from salon.access import OWNER, SalonRequest, allow
from salon.csv_table import table_response
from salon.keyset import slice_of
from salon.reading_once import reading_once
from salon.replica import from_replica, reads_replica

PAGE = 25
PERIODS = (30, 90, 365)
TABLES = (*results_table.TABLES, "visits", "conduct", "overdue")
PAPER = pdf.Paper("cards/results.html", flows=True)
LIST_PAPER = pdf.Paper("cards/visit_list.html", flows=True)
# A list of more is a file's, not a sheet's; some 12 sides take a few seconds to lay out.
MOST_ON_PAPER = 400


@allow(OWNER, by_pin=True)
@require_GET
@reads_replica
@reading_once()
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
        **_how_visits_went(question, at),
        **_reaches(answer),
        "years_to_a_false_mark": round(20 / control.FALSE_MARKS_PER_20_CLIENT_YEARS),
        "most_visits": findings.MOST_VISITS,
        "has_closed_visits": past.has_closed_visits(salon=request.salon),
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
    name = request.POST.get("table", "")
    kind = request.POST.get("kind", conduct.Kind.EVERY)
    if form.errors or name not in TABLES or kind not in list(conduct.Kind):
        return redirect("consult:histories")
    services.record_results_export(by=request.user, at=at, table=name)
    header, rows = from_replica(lambda: _table(name, question, kind, request.POST, at))
    return table_response(f"{name}-{question.first}-{question.last}.csv", header, rows)


def _table(
    name: str, question: Question, kind: str, data: QueryDict, at: dt.datetime
) -> tuple[list[str], list[list[str]]]:
    """Return header and rows of one table of a time."""
    if name == "visits":
        listed = behind_figures.listed(question, kind, data.get("part", ""))
        return results_table.visits_table(behind_figures.in_pieces(question, listed))
    if name == "conduct":
        went = _how_visits_went(question, at)
        return results_table.figures_table([*went["figures"], *went["choices"]])
    if name == "overdue":
        every = overdue.rhythm(
            salon=question.salon, first=question.first, last=question.last, at=at
        )
        return results_table.overdue_table(every.overdue)
    _known, runs = overview.runs_now(salon=question.salon, at=at)
    return results_table.table(name, overview.overview(question, runs))


@allow(OWNER)
@require_POST
def results_pdf(request: SalonRequest) -> HttpResponse:
    """Print the page's tables with their plots."""
    at = timezone.now()
    form, question = _question(request, request.POST, at)
    if form.errors:
        return redirect("consult:histories")
    services.record_results_export(by=request.user, at=at, table="pdf")

    def sheet() -> pdf.Sheet:
        known, runs = overview.runs_now(salon=request.salon, at=at)
        needs, more = needs_now(salon=request.salon, known=known, runs=runs, at=at)
        answer = overview.overview(question, runs)
        context = {
            "salon": request.salon, "request": request, "at": at, "question": question,
            "needs": needs, "more": more, "answer": answer, **_reaches(answer),
            **_how_visits_went(question, at),
        }  # fmt: skip
        return pdf.printed_paper(PAPER, context)

    return pdf.answer(from_replica(sheet), f"results-{question.first}-{question.last}")


@allow(OWNER, by_pin=True)
@require_GET
@reads_replica
def visit_list(request: SalonRequest) -> HttpResponse:
    """List the visits behind a figure of the owner's page."""
    form, question = _question(request, request.GET, timezone.now())
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
    at = timezone.now()
    form, question = _question(request, request.POST, at)
    kind = request.POST.get("kind", conduct.Kind.EVERY)
    if form.errors or kind not in list(conduct.Kind):
        return redirect("consult:histories")
    services.record_results_export(by=request.user, at=at, table="visits-pdf")

    def sheet() -> pdf.Sheet:
        visits = behind_figures.listed(question, kind, request.POST.get("part", ""))
        shown = visits.order_by("-opened_at", "-pk").values_list("pk", flat=True)
        context = {
            "salon": request.salon, "request": request, "question": question,
            "title": conduct.labels()[kind], "found": visits.count(),
            "rows": behind_figures.rows_of(question, list(shown[:MOST_ON_PAPER])),
        }  # fmt: skip
        return pdf.printed_paper(LIST_PAPER, context)

    return pdf.answer(from_replica(sheet), f"visits-{question.first}-{question.last}")


def _how_visits_went(question: Question, at: dt.datetime) -> dict[str, Any]:
    """Return what is counted of the time's visits, and who is overdue now."""
    counts = conduct.counts_of(visits_in_question(question), salon=question.salon)
    return {
        "figures": conduct.figures(counts),
        "choices": conduct.choices(counts),
        "rhythm": overdue.rhythm(
            salon=question.salon, first=question.first, last=question.last, at=at,
            most=overdue.SHOWN,
        ),
    }  # fmt: skip


def _question(
    request: SalonRequest, data: QueryDict, at: dt.datetime
) -> tuple[PeriodForm, Question]:
    """Return the form and what it asks; the usual time where it asks nothing sensible."""
    today = at.astimezone(request.salon.zone).date()
    wanted = data.copy()
    if not wanted.get("first") and not wanted.get("last"):
        first, last = PeriodForm.usual(today)
        wanted["first"], wanted["last"] = first.isoformat(), last.isoformat()
    form = PeriodForm(wanted, salon=request.salon, today=today)
    cleaned = form.cleaned_data if form.is_valid() else {}
    first, last = form.period(cleaned)
    return form, Question(
        request.salon,
        first,
        last,
        cleaned.get("stylist"),
        cleaned.get("line"),
        cleaned.get("zone", ""),
        cleaned.get("service"),
        cleaned.get("level"),
    )


def _kept(data: QueryDict) -> str:
    """Return what is asked, as an address keeps it from page to page."""
    kept = data.copy()
    for place in ("page", "after", "before"):
        kept.pop(place, None)
    return kept.urlencode()


def _reaches(answer: overview.Overview) -> dict[str, float]:
    return {
        "depth_reach": _reach(answer, "depth", least=0.5),
        "warmth_reach": _reach(answer, "warmth", least=15.0),
    }


def _reach(answer: overview.Overview, number: str, *, least: float) -> float:
    """Return how far the interval plots reach either way, the same for a whole column."""
    known = [getattr(group, number) for group in [*answer.lines, *answer.stylists]]
    ends = [max(abs(t.low), abs(t.high)) for t in known if t is not None]
    return float(max([least, *ends]))
