"""The worklist of imported values that have to be corrected."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse, HttpResponseBadRequest
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_POST

from clients import selectors, services
from clients.forms import AlikeForm, ValuesForm
from clients.selectors.import_values import values_alike, values_to_correct
from clients.views.importing import allow_importers
from salon.access import SalonRequest
from salon.attempts import attempt

_A_PAGE = 25


@allow_importers
@require_http_methods(["GET", "POST"])
def values(request: SalonRequest) -> HttpResponse:
    """Show values as the lists have them; save those that were corrected or removed."""
    now = timezone.now()
    waiting = values_to_correct(salon=request.salon)
    page = Paginator(waiting, _A_PAGE).get_page(request.GET.get("page"))
    form = ValuesForm(
        request.POST if request.method == "POST" else None,
        values=list(page),
        today=selectors.today(salon=request.salon, at=now),
        region=request.salon.region,
    )
    tried = attempt(
        request,
        form,
        lambda _data: services.correct_values(
            corrected=form.corrected, removed=form.removed, versions=form.versions,
            by=request.user, at=now,
        ),
    )  # fmt: skip
    if tried.saved:
        messages.success(request, _settled(tried.result or 0))
        return redirect(f"{reverse('clients:values_to_correct')}?page={page.number}")
    context = {
        "form": form,
        "page": page,
        "alike": values_alike(salon=request.salon) if page.number == 1 else [],
    }
    return render(request, "clients/import_values.html", context, status=tried.status)


@allow_importers
@require_POST
def alike(request: SalonRequest) -> HttpResponse:
    """Remove one text from every client who has it in a field."""
    form = AlikeForm(request.POST)
    if not form.is_valid():
        return HttpResponseBadRequest()
    count = services.remove_alike(by=request.user, at=timezone.now(), **form.cleaned_data)
    messages.success(request, _settled(count))
    return redirect("clients:values_to_correct")


def _settled(count: int) -> str:
    sentence = ngettext("%(n)d value corrected.", "%(n)d values corrected.", count)
    return sentence % {"n": count}
