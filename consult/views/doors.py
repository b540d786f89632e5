"""What every page of a visit shares: its door, its frame, and how a form is saved."""

import datetime as dt
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import wraps
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from clients.selectors import alerts_in_force
from consult import access, services
from consult.forms import DropForm
from consult.hair import banding
from consult.models import ReactionKind, Visit
from consult.visit.facts import VisitFacts
from consult.visit.loading import facts_of
from consult.visit.path import LABELS, Step
from salon import attempts
from salon.access import SalonRequest
from salon.attempts import Attempt, Savable
from salon.numbers import whole_number

VisitView = Callable[..., HttpResponseBase]


def facts_for(request: HttpRequest, visit: Visit) -> VisitFacts:
    """Return the facts of a visit, read once per request and version."""
    known: dict[object, VisitFacts] = request.__dict__.setdefault("visit_facts", {})
    key = (visit.pk, visit.version, visit.status)
    if key not in known:
        known[key] = facts_of(visit, at=timezone.now())
    return known[key]


def at_step(step: Step) -> Callable[[VisitView], VisitView]:
    """Give the view its visit, or lead to the step that is due."""

    def decorate(view: VisitView) -> VisitView:
        @wraps(view)
        def guarded(request: SalonRequest, pk: int, **kwargs: Any) -> HttpResponseBase:
            visit = access.visit_or_404(request, pk)
            if visit.has_ended:
                messages.info(request, _("This visit has ended. This is its record."))
                return lead(request, "consult:visit", visit.pk)
            facts = facts_for(request, visit)
            if not facts.is_open(step):
                messages.warning(request, _("Do this step first."))
                return lead(request, f"consult:{due_page(facts)}", visit.pk)
            return view(request, visit, **kwargs)

        return guarded

    return decorate


def lead(request: HttpRequest, name: str, pk: int) -> HttpResponse:
    """Return a redirect, also out of a fragment."""
    if getattr(request, "htmx", False):
        return HttpResponse(status=204, headers={"HX-Redirect": reverse(name, args=[pk])})
    return redirect(name, pk)


def due_page(facts: VisitFacts) -> str:
    """Return the page of the step that is due; the record once the visit has ended."""
    if facts.reaction and facts.reaction.kind == ReactionKind.PRESSED:
        return "reaction"  # what was seen is still to be described
    return facts.due or "visit"


def go_on(request: HttpRequest, visit: Visit) -> HttpResponse:
    """Lead to the step that is now due."""
    return lead(request, f"consult:{due_page(facts_for(request, visit))}", visit.pk)


def attempt(
    request: SalonRequest,
    visit: Visit,
    form: Savable,
    write: Callable[[dict[str, Any], int], object],
) -> Attempt[object]:
    """Save a posted form of a visit through a service, and forget what it had kept.

    `write` takes the cleaned data and the version that the form was opened at. A stale one
    answers 409 with what others changed; what was typed stays in the form.
    """
    tried = attempts.attempt(request, form, lambda data: write(data, posted_version(request)))
    if tried.saved:
        forget_draft(request, visit)
    return _reread(visit, tried)


def press(request: SalonRequest, visit: Visit, write: Callable[[], object]) -> Attempt[object]:
    """Do what a button of a visit asks for; say why not, unless the page shows the changes."""
    return _reread(visit, attempts.press(request, write))


def stale_in(tried: Attempt[Any]) -> services.StaleVisit | None:
    """Return the refusal that says what others changed, if that is why nothing was saved."""
    return tried.refusal if isinstance(tried.refusal, services.StaleVisit) else None


def _reread(visit: Visit, tried: Attempt[object]) -> Attempt[object]:
    if stale_in(tried):
        visit.refresh_from_db(fields=["status", "version"])
    return tried


def forget_draft(request: SalonRequest, visit: Visit) -> None:
    """Drop what the form that is now saved had kept; its script names the step and part."""
    draft = {name: request.POST.get(f"draft_{name}") for name in ("step", "part")}
    form = DropForm(draft)
    if form.is_valid():
        services.drop_draft(visit=visit, by=request.user, **form.cleaned_data)


def posted_version(request: HttpRequest) -> int:
    """Return the version that a form was opened at; -1, always stale, for nonsense."""
    version = whole_number(request.POST.get("version", ""), digits=9)
    return -1 if version is None else version


MOST_HELD = 15 * 60


def pressed_at(request: HttpRequest, *, not_before: dt.datetime) -> dt.datetime:
    """Return when a button was pressed whose form had to wait for the network.

    The page counts the seconds itself (its clock may be wrong, its count is not). They move a
    moment back by a quarter of an hour at most, and never before what it stands on.
    """
    held = whole_number(request.POST.get("held_seconds", ""), digits=5) or 0
    now = timezone.now()
    return min(now, max(not_before, now - dt.timedelta(seconds=min(held, MOST_HELD))))


def page(
    request: SalonRequest,
    visit: Visit,
    step: str,
    context: Mapping[str, object],
    tried: Attempt[Any] | None = None,
) -> HttpResponse:
    """Draw a step's page in its frame."""
    tried = tried or Attempt()
    now = timezone.now()
    stale = stale_in(tried)
    kept = request.method == "POST" and not stale
    facts = facts_for(request, visit)
    frame = {
        "visit": visit,
        "page_key": step,
        "facts": facts,
        "steps": steps_of(facts, step),
        "gate": facts.gate,
        "stops": facts.stops,
        "needs_new_reading": facts.was_lightened_since,
        "banding": banding.advice(facts.readings.values()),
        "alerts": alerts_in_force(client=visit.client),
        "version": posted_version(request) if kept else visit.version,
        "changes": stale.changes if stale else [],
        "is_stale": bool(stale),
        "now": now,
        "due_href": reverse(f"consult:{due_page(facts)}", args=[visit.pk]),
    }
    return render(request, f"consult/{step}.html", {**frame, **context}, status=tried.status)


@dataclass(frozen=True)
class PathStep:
    """One step in a visit's bar; `state` is done, again, next or current."""

    label: str
    href: str
    state: str


def steps_of(facts: VisitFacts, here: str) -> list[PathStep]:
    """Return the path of a visit for its bar: where one is, may go, or is not yet."""
    path = []
    for step, state in facts.steps.items():
        shown = "done" if state.holds else "again" if state.has_lapsed else "next"
        href = reverse(f"consult:{step}", args=[facts.visit.pk]) if state.is_open else ""
        shown = "current" if step == here else shown
        path.append(PathStep(str(LABELS[step]), href, shown))
    return path
