"""The level chart: every colour with its standing; entries are replaced by the owner."""

from decimal import Decimal

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from formulas import selectors, services
from formulas.forms import ChartEntryForm
from formulas.forms.chart import RestoreForm
from formulas.screen_colours import ChartCell, chart_cells
from salon.access import BENCH, OWNER, SalonRequest, allow
from salon.attempts import attempt
from salon.submissions import once


@allow(BENCH)
@require_GET
def chart(request: SalonRequest) -> HttpResponse:
    """Show both colours of each level and where they come from."""
    context = {
        "cells": chart_cells(salon=request.salon),
        "history": selectors.chart_history(salon=request.salon)[:50],
    }
    return render(request, "formulas/chart.html", context)


@allow(OWNER)
@once
@require_http_methods(["GET", "POST"])
def replace(request: SalonRequest) -> HttpResponse:
    """Put one colour of the salon's own into the chart."""
    cells = chart_cells(salon=request.salon)
    start = _cell(cells, request.GET.get("level", ""), request.GET.get("kind", ""))
    form = ChartEntryForm(request.POST or None, initial=_initial(start) if start else None)
    tried = attempt(
        request,
        form,
        lambda _data: services.replace_chart_entry(
            by=request.user, at=timezone.now(), **form.fields_of_entry()
        ),
    )
    if tried.saved:
        messages.success(request, _("Chart saved. Suggestions use it from now on."))
        return redirect("formulas:chart")
    context = {"form": form, "cells": cells, "start": start}
    return render(request, "formulas/chart_entry.html", context, status=tried.status)


@allow(OWNER)
@once
@require_POST
def restore(request: SalonRequest) -> HttpResponse:
    """Put the model's own colour back for one entry."""
    form = RestoreForm(request.POST)
    tried = attempt(
        request,
        form,
        lambda data: services.restore_chart_entry(by=request.user, at=timezone.now(), **data),
    )
    if tried.saved:
        messages.success(request, _("The original colour is back in the chart."))
    else:
        messages.error(request, str(tried.refusal or _("The chart has no such entry.")))
    return redirect("formulas:chart")


def _cell(cells: list[tuple[ChartCell, ChartCell]], level: str, kind: str) -> ChartCell | None:
    return next(
        (c for pair in cells for c in pair if (str(c.level), c.kind) == (level, kind)), None
    )


def _initial(cell: ChartCell) -> dict[str, object]:
    lightness, green_red, blue_yellow = (Decimal(str(round(v, 2))) for v in cell.lab)
    return {
        "level": str(cell.level),
        "kind": cell.kind,
        "lightness": lightness,
        "green_red": green_red,
        "blue_yellow": blue_yellow,
    }
