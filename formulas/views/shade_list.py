"""A whole line at once: pasted, loaded or written rows, looked at first; and out again."""

from dataclasses import dataclass

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_GET, require_http_methods

from formulas import access, selectors, services
from formulas.forms import ColumnsForm, ShadeListForm
from formulas.models import ProductLine
from formulas.shade_list import reading
from formulas.shade_list.preview import Preview, as_table, header_key, preview, samples
from formulas.shade_list.rows import MOST_SHADES
from salon.access import BENCH, OWNER, SalonRequest, allow
from salon.attempts import attempt
from salon.body_limit import takes_files
from salon.csv_table import table_response
from salon.submissions import once
from salon.table_file import Unreadable


@allow(OWNER)
@takes_files(reading.MOST_OCTETS + 1_000_000)
@once
@require_http_methods(["GET", "POST"])
def import_shades(request: SalonRequest, pk: int) -> HttpResponse:
    """Show what a list would become; add it when asked."""
    line = access.line_or_404(request, pk)
    if request.method != "POST":
        return _page(request, line, {"form": ShadeListForm(line=line)})
    form = ShadeListForm(request.POST, request.FILES, line=line)
    found = _found(request, form, line, form.cleaned_data["text"]) if form.is_valid() else None
    if found is None:
        return _page(request, line, {"form": form}, status=422)
    is_sound = found.columns.is_valid() if found.columns.is_bound else True
    if "take" in request.POST and is_sound and found.shown.can_be_taken:
        return _take(request, line, form, found)
    status = 200 if is_sound and "take" not in request.POST else 422
    return _page(request, line, _context(form, line, found), status=status)


@dataclass(frozen=True)
class Found:
    """A list as it was read, and the form in which its columns can be given a meaning."""

    text: str
    columns: ColumnsForm
    shown: Preview


def _found(
    request: SalonRequest, form: ShadeListForm, line: ProductLine, text: str
) -> Found | None:
    """Return the list as read; None where it is no list, which the form then says."""
    try:
        table, guessed = reading.table_of(text)
    except Unreadable as refusal:
        form.add_error("text", str(refusal))
        return None
    is_same = request.POST.get("header") == header_key(table)
    columns = ColumnsForm(
        request.POST if is_same else None,
        header=table.header, mapping=guessed, samples=samples(table),
    )  # fmt: skip
    mapping = columns.mapping() if is_same and columns.is_valid() else guessed
    return Found(text, columns, preview(table, mapping=mapping, line=line, usual=form.usual))


def _take(
    request: SalonRequest, line: ProductLine, form: ShadeListForm, found: Found
) -> HttpResponse:
    """Add what can be read; what cannot stays on the page to be corrected."""
    tried = attempt(
        request,
        form,
        lambda _data: services.add_listed_shades(
            line=line, listed=found.shown.to_add, by=request.user, at=timezone.now()
        ),
    )
    if not tried.saved:
        return _page(request, line, _context(form, line, found), status=tried.status)
    n = len(tried.result or [])
    done = ngettext("%(n)s shade is added.", "%(n)s shades are added.", n) % {"n": n}
    messages.success(request, done)
    left = found.shown.text_of_refused() if found.shown.refused else ""
    again = _found(request, form, line, left) if left else None
    if again is None:
        return redirect("formulas:line", line.pk)
    return _page(request, line, _context(form, line, again))


def _context(form: ShadeListForm, line: ProductLine, found: Found) -> dict[str, object]:
    """Return what the page shows; the text holds what a file or a family brought in."""
    data = {**form.data.dict(), "text": found.text, "family": ""}  # type: ignore[attr-defined]
    again = ShadeListForm(data, line=line)
    again.errors.update(form.errors)
    return {
        "form": again,
        "columns": found.columns,
        "preview": found.shown,
        "header": header_key(found.shown.table),
        "has_headings": any(found.shown.table.header),
        "most": MOST_SHADES,
    }


def _page(
    request: SalonRequest, line: ProductLine, context: dict[str, object], status: int = 200
) -> HttpResponse:
    return render(
        request, "formulas/import_shades.html", {"line": line, **context}, status=status
    )


@allow(BENCH)
@require_GET
def shades_csv(request: SalonRequest, pk: int) -> HttpResponse:
    """Give a line's shades as CSV, with the headings that the import reads."""
    line = access.line_or_404(request, pk)
    header, rows = as_table(selectors.shades_with_stock(line=line))
    return table_response(_("shades") + ".csv", header, rows)
