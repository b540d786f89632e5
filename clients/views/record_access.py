"""The owner's page on who looked at whose records."""

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_http_methods

from clients.forms.record_access import AccessFilterForm
from clients.selectors import record_access as selectors
from salon.access import OWNER, SalonRequest, allow
from salon.files.giving import give
from salon.keyset import slice_of

PAGE = 50


@allow(OWNER)
@require_http_methods(["GET", "POST"])
def who_looked(request: SalonRequest) -> HttpResponse:
    """Show who looked at what, filtered; or give it as a file."""
    form = AccessFilterForm(request.GET or None, salon=request.salon)
    is_good = not form.is_bound or form.is_valid()
    if request.method == "POST" and is_good:
        filters = {name: request.GET[name] for name in form.fields if request.GET.get(name)}
        return give(request, "who_looked", **filters)
    wanted = form.cleaned_data if form.is_bound and is_good else {}
    rows = selectors.accesses(salon=request.salon, **wanted)
    query = request.GET.copy()
    for name in ("after", "before"):
        query.pop(name, None)
    context = {
        "form": form,
        "page": slice_of(rows, request.GET, by="at", size=PAGE),
        "query": query.urlencode(),
        "is_filtered": bool(query),
    }
    return render(request, "clients/who_looked.html", context, status=200 if is_good else 422)
