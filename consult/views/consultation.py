"""What is known, what is asked, what is read."""

from typing import Any

from django.http import HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from clients.models import AccessKind
from clients.selectors import safety_answers_with_previous
from clients.selectors.health_consent import health_consent
from consult import access, selectors, services
from consult.forms import HairForm, SafetyForm
from consult.forms.hair import Carried
from consult.hair import pretests, residue
from consult.hair.zone_strands import zone_strands
from consult.history import costs, histories
from consult.history.visit_record import of_records
from consult.models import Status, Visit
from consult.paper import mail_status
from consult.views.doors import at_step, attempt, facts_for, go_on, page
from consult.visit.path import Step
from formulas.drawing.strands import undertone_strands
from formulas.engine_inputs import ground_of
from salon.access import BENCH, SalonRequest, allow
from salon.models import Role
from salon.submissions import once


@allow(BENCH, shows=AccessKind.VISIT)
@require_GET
def visit(request: SalonRequest, pk: int) -> HttpResponse:
    """Show what is known before anything is asked; of an ended visit, its record."""
    opened = access.visit_or_404(request, pk)
    return page(request, opened, "visit", overview(request, opened))


def overview(request: SalonRequest, visit: Visit) -> dict[str, Any]:
    """Return what the first page of a visit shows."""
    return {
        "last_visits": histories.last_visits(visit),
        "record": of_records(facts_for(request, visit).records) if visit.has_ended else None,
        "events": visit.events.select_related("recorded_by"),
        "sign_offs": selectors.sign_offs(visit),
        "has_formula": visit.formulas.exists(),
        "revisions": selectors.formula_history(visit) if visit.has_ended else (),
        "spent": costs.of_one(visit) if _shows_cost(request, visit) else None,
        "corrections": visit.corrections.order_by("pk") if visit.has_ended else (),
        **preparation(visit),
        **(mail_status.mail_context(visit) if visit.status == Status.CLOSED else {}),
    }


def _shows_cost(request: SalonRequest, visit: Visit) -> bool:
    """Whether the page says what a visit cost: to owners, once it has ended."""
    return request.user.role == Role.OWNER and visit.has_ended


def preparation(visit: Visit) -> dict[str, Any]:
    """Return the tests that are called for or done, and the steps before the toner."""
    requests = pretests.test_requests(visit, at=timezone.now())
    return {
        "test_requests": [
            test_request
            for test_request in requests
            if test_request.reasons or test_request.done
        ],
        "tests_done": any(test_request.done for test_request in requests),
        "steps_done": selectors.steps_in_force(visit),
    }


@allow(BENCH, shows=AccessKind.VISIT)
@once
@require_http_methods(["GET", "POST"])
@at_step(Step.SAFETY)
def safety(request: SalonRequest, visit: Visit) -> HttpResponse:
    """Ask the safety questions; an answer that forbids colour stops here."""
    earlier = safety_answers_with_previous(client=visit.client)
    today = {
        key: row.answer
        for key, (row, _otherwise) in earlier.items()
        if row.answered_at >= visit.opened_at
    }
    consent = health_consent(client=visit.client, at=timezone.now())
    form = SafetyForm(request.POST or None, initial=today, earlier=earlier, consent=consent)
    tried = attempt(
        request,
        visit,
        form,
        lambda data, version: services.answer_safety(
            visit=visit,
            answers=data,
            agreed_by=form.agreed_by(),
            by=request.user,
            at=timezone.now(),
            expected_version=version,
        ),
    )
    if tried.saved:
        return go_on(request, visit)
    return page(request, visit, "safety", {"form": form}, tried)


@allow(BENCH, shows=AccessKind.VISIT)
@once
@require_http_methods(["GET", "POST"])
@at_step(Step.HAIR)
def hair(request: SalonRequest, visit: Visit) -> HttpResponse:
    """Read the hair, zone by zone."""
    facts = facts_for(request, visit)
    readings = dict(facts.readings)
    ground = ground_of(visit.line)
    strands = undertone_strands(ground.chart)
    form = HairForm(
        request.POST or None,
        readings=readings,
        facts=facts.hair,
        strands=strands,
        carried=_carried(visit),
        has_washes=residue.leaves_toner(visit),
        reached=selectors.levels_reached(visit),
    )
    tried = attempt(
        request,
        visit,
        form,
        lambda _data, version: services.read_hair(
            visit=visit,
            **form.read(),
            by=request.user,
            at=timezone.now(),
            expected_version=version,
        ),
    )
    if tried.saved:
        return go_on(request, visit)
    context = {
        "form": form,
        "strands": strands,
        "head": zone_strands(ground, readings),
        **preparation(visit),
    }
    return page(request, visit, "hair", context, tried)


def _carried(visit: Visit) -> Carried | None:
    """Return what the client's last visit read, or None where there was none."""
    last = residue.last_toned(visit)
    if last is None:
        return None
    return Carried(last, selectors.readings_in_force(last), selectors.facts_in_force(last))
