"""The owner's page for the words that clients sign."""

from typing import Any

from django.conf import settings
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone, translation
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from consult import selectors, services
from consult.agreement import wordings
from consult.forms import WordingForm
from salon.access import OWNER, SalonRequest, allow
from salon.submissions import once


@allow(OWNER)
@once
@require_http_methods(["GET", "POST"])
def wording(request: SalonRequest) -> HttpResponse:
    """Show the words in force with a preview; put others in force, or only look at them."""
    language = wordings.known_language(
        request.GET.get("language") or translation.get_language()
    )
    history = list(selectors.wordings_of(salon=request.salon, language=language))
    latest = history[0] if history else None
    current = (
        {"statement": latest.statement, "understandings": latest.understandings}
        if latest and "built-in" not in request.GET
        else wordings.built_in_texts(language)
    )
    initial = {"number": latest.number if latest else 0, **current}
    form = WordingForm(request.POST or None, initial=initial)
    status, stale = 200, False
    if request.method == "POST" and not form.is_valid():
        status = 422
    elif request.method == "POST" and request.POST.get("act") != "preview":
        data = dict(form.cleaned_data)
        try:
            services.revise_wording(
                language=language,
                by=request.user,
                at=timezone.now(),
                expected_number=data.pop("number"),
                **data,
            )
            messages.success(request, _("The new text applies from the next choice on."))
            return redirect(f"{reverse('consult:wording')}?language={language}")
        except services.WordingStale:
            status, stale = 409, True
        except services.WordingRefused as refusal:
            form.add_error(None, str(refusal))
            status = 422
    context: dict[str, Any] = {
        "form": form,
        "language": language,
        "languages": settings.LANGUAGES,
        "names": wordings.NAMES,
        "history": history,
        "latest": latest,
        "is_stale": stale,
        "preview": _preview(form, language, current),
    }
    return render(request, "consult/wording.html", context, status=status)


def _preview(form: WordingForm, language: str, current: dict[str, str]) -> dict[str, Any]:
    """Return the words with example numbers: as typed where that can be, else in force."""
    texts = form.cleaned_data if form.is_bound and form.is_valid() else current
    with translation.override(language):
        values = wordings.example_values()
        return {
            "statement": wordings.filled(texts["statement"], values),
            "understandings": wordings.lines(texts["understandings"]),
        }
