"""It reacts: the clocks end at one press, then what to do, then what was seen."""

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from clients.models import AccessKind
from consult import access, services
from consult.forms import ReactionForm
from consult.models import ReactionKind, Visit
from consult.views.doors import (
    attempt,
    facts_for,
    lead,
    page,
    posted_version,
    press,
    pressed_at,
    stale_in,
)
from salon.access import BENCH, SalonRequest, allow
from salon.attempts import Attempt
from salon.submissions import once


@allow(BENCH)
@once
@require_POST
def react(request: SalonRequest, pk: int) -> HttpResponse:
    """End every clock of the visit, block the line, and say what to do."""
    visit = access.visit_or_404(request, pk)
    running = [bowl.started_at for bowl in facts_for(request, visit).running]
    earliest = max((moment for moment in running if moment), default=visit.opened_at)
    tried = press(
        request,
        visit,
        lambda: services.report_reaction(
            visit=visit, by=request.user, at=pressed_at(request, not_before=earliest)
        ),
    )
    return lead(request, f"consult:{'reaction' if tried.saved else 'visit'}", visit.pk)


@allow(BENCH, shows=AccessKind.VISIT)
@once
@require_http_methods(["GET", "POST"])
def reaction(request: SalonRequest, pk: int) -> HttpResponse:
    """Say what to do, then record what was seen."""
    visit = access.visit_or_404(request, pk)
    facts = facts_for(request, visit)
    if visit.has_ended or facts.reaction is None:
        return lead(request, "consult:visit", visit.pk)
    form = ReactionForm(request.POST or None)
    tried = attempt(
        request,
        visit,
        form,
        lambda data, version: services.describe_reaction(
            visit=visit,
            by=request.user,
            at=timezone.now(),
            expected_version=version,
            **data,
        ),
    )
    if tried.saved:
        messages.success(request, _("Saved. This line is now blocked for this client."))
        return lead(request, "consult:card", visit.pk)
    return _page(request, visit, form, tried)


def _page(
    request: SalonRequest, visit: Visit, form: ReactionForm, tried: Attempt[Any]
) -> HttpResponse:
    facts = facts_for(request, visit)
    last = facts.reaction
    is_described = last is not None and last.kind == ReactionKind.SEEN
    context = {"form": form, "is_described": is_described}
    return page(request, visit, "reaction", context, tried)


@allow(BENCH)
@once
@require_POST
def take_back(request: SalonRequest, pk: int) -> HttpResponse:
    """Record that it was pressed by mistake."""
    visit = access.visit_or_404(request, pk)
    tried = press(
        request,
        visit,
        lambda: services.take_back_reaction(
            visit=visit,
            by=request.user,
            at=timezone.now(),
            expected_version=posted_version(request),
        ),
    )
    if stale_in(tried):
        return _page(request, visit, ReactionForm(), tried)
    if tried.refusal:
        return lead(request, "consult:reaction", visit.pk)
    messages.warning(
        request,
        _("Undone. The clocks stay stopped: use the salon's own clock."),
    )
    return lead(request, "consult:bench", visit.pk)
