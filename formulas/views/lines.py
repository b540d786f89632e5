"""Product lines: all of them, one of them, and changes by the owner."""

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from formulas import access, mixing, selectors, services
from formulas.forms import CompositionForm, InventedForm, LineForm, NewLineForm
from formulas.models import Shade
from formulas.screen_colours import shade_colours
from formulas.shelf_summary import Held, glances
from formulas.views.stale import reread
from salon.access import BENCH, OWNER, SalonRequest, allow
from salon.attempts import attempt
from salon.refusals import Stale
from salon.submissions import once


@allow(BENCH)
@require_GET
def lines(request: SalonRequest) -> HttpResponse:
    """Show every line with its shelf at a glance."""
    shelf = selectors.shelf(salon=request.salon)
    found = glances(selectors.lines_at_a_glance(salon=request.salon), shelf)
    return render(request, "formulas/lines.html", {"glances": found})


@allow(BENCH)
@require_GET
def line(request: SalonRequest, pk: int) -> HttpResponse:
    """Show a line: its recipe, its shades with their colours, its shelf."""
    shown = access.line_or_404(request, pk)
    shades = list(selectors.shades_with_stock(line=shown))
    colours = shade_colours(shades, salon=request.salon)
    held = [(Held(s, s.grams), colours[s.pk]) for s in shades]  # type: ignore[attr-defined]
    context = {
        "line": shown,
        "in_use": [pair for pair in held if pair[0].shade.is_active],
        "retired": [pair for pair in held if not pair[0].shade.is_active],
        "ready_percent": mixing.strength_after_mixing(
            shown.developer_percent, ratio=shown.developer_ratio
        ),
        "differing_allergens": _differing_allergens(shades),
        "volumes": mixing.percent_to_volumes(shown.developer_percent),
    }
    return render(request, "formulas/line.html", context)


def _differing_allergens(shades: list[Shade]) -> list[str]:
    """Return what the labels of the shades in use name, where they do not all name the same."""
    named = sorted({s.allergens for s in shades if s.is_active and s.allergens})
    return named if len(named) > 1 else []


@allow(OWNER)
@once
@require_http_methods(["GET", "POST"])
def new(request: SalonRequest) -> HttpResponse:
    """Add a line."""
    form = NewLineForm(request.POST or None, salon=request.salon)
    if request.method == "POST" and form.is_valid():
        added = services.add_line(by=request.user, at=timezone.now(), **form.cleaned_data)
        messages.success(
            request, _("%(name)s is added. Now add its shades.") % {"name": added.name}
        )
        return redirect("formulas:line", added.pk)
    status = 422 if form.errors else 200
    context = {"form": form, "title": _("Add a line")}
    return render(request, "formulas/line_form.html", context, status=status)


@allow(OWNER)
@require_http_methods(["GET", "POST"])
def edit(request: SalonRequest, pk: int) -> HttpResponse:
    """Change a line's recipe; the second of two sees the difference and keeps their input."""
    shown = access.line_or_404(request, pk)
    form = _line_form(request, pk, request.POST or None)
    differences = []

    def change(data: dict[str, Any]) -> None:
        fields = dict(data)
        services.change_line(
            line=shown,
            expected_version=fields.pop("version"),
            by=request.user,
            at=timezone.now(),
            **fields,
        )

    tried = attempt(request, form, change)
    if tried.saved:
        messages.success(request, _("%(name)s is saved.") % {"name": shown.name})
        return redirect("formulas:line", pk)
    if isinstance(tried.refusal, Stale):
        differences = reread(form, _line_form(request, pk, None))
    context = {
        "form": form,
        "line": access.line_or_404(request, pk),
        "differences": differences,
        "title": _("Change the line"),
    }
    return render(request, "formulas/line_form.html", context, status=tried.status)


def _line_form(request: SalonRequest, pk: int, data: Any) -> LineForm:
    line = access.line_or_404(request, pk)
    return LineForm(
        data, instance=line, salon=request.salon, initial={"version": line.data_version}
    )


@allow(OWNER)
@require_http_methods(["GET", "POST"])
def composition(request: SalonRequest, pk: int) -> HttpResponse:
    """Record a new composition, after what follows for patch tests was read."""
    shown = access.line_or_404(request, pk)
    form = CompositionForm(request.POST or None, initial={"version": shown.data_version})
    tried = attempt(
        request,
        form,
        lambda data: services.change_composition(
            line=access.line_or_404(request, pk),
            expected_version=data["version"],
            by=request.user,
            at=timezone.now(),
        ),
    )
    if tried.saved:
        messages.warning(
            request,
            _("Every client needs a new patch test for %(name)s.") % {"name": shown.name},
        )
        return redirect("formulas:line", pk)
    if isinstance(tried.refusal, Stale):
        shown = access.line_or_404(request, pk)
        reread(form, CompositionForm(initial={"version": shown.data_version}))
    consequences = _(
        "A skin test is valid only for the composition that was tested.\n\n"
        "Once you confirm, no client has a valid patch test for %(name)s, whatever was read "
        "before. Bookings stay in the diary, but nobody can be checked in or given a formula "
        "until a new test has been read clear.\n\n"
        "Earlier tests and readings stay on record. You cannot undo this."
    )
    context = {
        "form": form,
        "line": shown,
        "consequences": consequences % {"name": shown.name},
    }
    return render(request, "formulas/composition.html", context, status=tried.status)


@allow(OWNER)
@require_POST
def answer_invented(request: SalonRequest, pk: int) -> HttpResponse:
    """Record what the owner says of an invented line."""
    shown = access.line_or_404(request, pk)
    form = InventedForm(request.POST)
    if form.is_valid():
        line = services.answer_invented(
            line=shown, by=request.user, at=timezone.now(), **form.cleaned_data
        )
        words = (
            _(
                "Saved. Every choice and every paper with %(name)s will say that its "
                "shades are invented."
            )
            if line.is_starting_point
            else _("%(name)s is now marked as your own line.")
        )
        messages.success(request, words % {"name": line.name})
    else:
        messages.error(request, _("Choose one of the two answers."))
    return redirect("formulas:line", pk)
