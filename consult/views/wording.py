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
from salon.attempts import attempt
from salon.refusals import Stale
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

    def revise(data: dict[str, Any]) -> bool:
        if request.POST.get("act") == "preview":
            return False
        texts = dict(data)
        services.revise_wording(
            language=language,
            by=request.user,
            at=timezone.now(),
            expected_number=texts.pop("number"),
            **texts,
        )
        return True

    tried = attempt(request, form, revise)
    if tried.result:
        messages.success(request, _("The new text applies from the next choice on."))
        return redirect(f"{reverse('consult:wording')}?language={language}")
    context: dict[str, Any] = {
        "form": form,
        "language": language,
        "languages": settings.LANGUAGES,
        "names": wordings.NAMES,
        "history": history,
        "latest": latest,
        "is_stale": isinstance(tried.refusal, Stale),
        "preview": _preview(form, language, current),
    }
    return render(request, "consult/wording.html", context, status=tried.status)


def _preview(form: WordingForm, language: str, current: dict[str, str]) -> dict[str, Any]:
    """Return the words with example numbers: as typed where that can be, else in force."""
    texts = form.cleaned_data if form.is_bound and form.is_valid() else current
    with translation.override(language):
        values = wordings.example_values()
        return {
            "statement": wordings.filled(texts["statement"], values),
            "understandings": wordings.lines(texts["understandings"]),
        }
