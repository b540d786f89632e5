"""The owner's page on who looked at whose records."""

import csv
import io

from django.http import HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET

from clients.forms.record_access import AccessFilterForm
from clients.people.csv_file import safe
from clients.selectors import record_access as selectors
from salon.access import OWNER, SalonRequest, allow
from salon.keyset import slice_of

PAGE = 50
MOST_ROWS = 50_000  # of a file


@allow(OWNER)
@require_GET
def who_looked(request: SalonRequest) -> HttpResponse:
    """Show who looked at what, filtered; or give it as a file."""
    form = AccessFilterForm(request.GET or None, salon=request.salon)
    is_good = not form.is_bound or form.is_valid()
    wanted = form.cleaned_data if form.is_bound and is_good else {}
    rows = selectors.accesses(salon=request.salon, **wanted)
    if "csv" in request.GET and is_good:
        text = io.StringIO()
        writer = csv.writer(text)
        writer.writerow([_("When"), _("Who"), _("Whose"), _("What")])
        for row in rows[:MOST_ROWS]:
            whose = row.client.name if row.client else ""
            cells = [row.at.isoformat(), row.staff.display_name, whose, row.get_kind_display()]
            writer.writerow([safe(cell) for cell in cells])
        response = HttpResponse(text.getvalue(), content_type="text/csv; charset=utf-8")
        response["Content-Disposition"] = 'attachment; filename="who-looked.csv"'
        return response
    query = request.GET.copy()
    for name in ("after", "before", "csv"):
        query.pop(name, None)
    context = {
        "form": form,
        "page": slice_of(rows, request.GET, by="at", size=PAGE),
        "query": query.urlencode(),
        "is_filtered": bool(query),
    }
    return render(request, "clients/who_looked.html", context, status=200 if is_good else 422)
