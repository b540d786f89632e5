"""The engine's explanation for any hand-set base and mix; drawn again as values change."""

from typing import Any

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET
from django.views.decorators.vary import vary_on_headers

from formulas import access, refusals, selectors
from formulas.engine_inputs import ZoneInput
from formulas.explanation import balanced_mix, explain
from formulas.forms import ExplanationForm
from formulas.forms.explanation import starting_values
from formulas.models import ProductLine
from salon.access import BENCH, SalonRequest, allow
from salon.refusals import Refused


@allow(BENCH)
@require_GET
@vary_on_headers("HX-Request")
def explanation(request: SalonRequest) -> HttpResponse:
    """Show spectra, colours, limit and explanation of a base and a mix."""
    lines = list(selectors.active_lines(salon=request.salon))
    line = _line(request, lines)
    context: dict[str, object] = {"lines": lines, "line": line}
    if line is None:
        return render(request, "formulas/explanation.html", context)
    names = [shade.name for shade in selectors.shades_in_use(line=line)]
    data: Any = request.GET
    if "lifted_level" not in data:
        data = starting_values(line, balanced_mix(line, ZoneInput(7.5)) if names else [])
    form = ExplanationForm(data, shade_names=names)
    context["form"] = form
    if form.is_valid():
        minutes = float(form.cleaned_data["minutes"])
        try:
            context["explanation"] = explain(
                line=line, zone=form.zone(), parts=form.cleaned_data["parts"], minutes=minutes
            )
        except (ValueError, Refused) as refusal:
            form.add_error(None, refusals.in_words(refusal))
    template = "formulas/_explanation.html" if request.htmx else "formulas/explanation.html"
    return render(request, template, context, status=422 if form.errors else 200)


def _line(request: SalonRequest, lines: list[ProductLine]) -> ProductLine | None:
    """Return the line that is asked for, else the first one in use."""
    chosen = request.GET.get("line", "")
    if not chosen:
        return lines[0] if lines else None
    return access.line_or_404(request, chosen)  # type: ignore[arg-type]
