"""Tests on the hair, and the steps before the toner."""

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from clients.models import AccessKind
from consult import access, selectors, services
from consult.forms import PreTestForm, StepForm
from consult.hair import pretests
from consult.models import PreTestKind, Visit, VisitStep
from consult.views.doors import at_step, attempt, lead, page, posted_version, press, stale_in
from consult.visit.path import Step
from salon.access import BENCH, SalonRequest, allow
from salon.submissions import once


@allow(BENCH, shows=AccessKind.VISIT)
@once
@require_http_methods(["GET", "POST"])
@at_step(Step.SAFETY)
def pre_tests(request: SalonRequest, visit: Visit) -> HttpResponse:
    """Show how each test is done, and record what it showed."""
    now = timezone.now()
    kind = request.POST.get("kind", "")
    posted = None
    if request.method == "POST":
        known = kind if kind in PreTestKind.values else PreTestKind.STRAND
        posted = PreTestForm(request.POST, kind=known)
    tried = attempt(
        request,
        visit,
        posted or PreTestForm(kind=PreTestKind.STRAND),
        lambda data, version: services.record_pre_test(
            visit=visit, by=request.user, at=now, expected_version=version, **data
        ),
    )
    if tried.saved:
        messages.success(request, _("Test saved."))
        return lead(request, "consult:pre_tests", visit.pk)
    tests = [
        {
            "test": test_request,
            "form": posted
            if posted and kind == test_request.kind
            else PreTestForm(kind=test_request.kind),
            "is_open": test_request.is_due
            or (posted is not None and kind == test_request.kind),
        }
        for test_request in pretests.test_requests(visit, at=now)
    ]
    return page(request, visit, "pre_tests", {"asked": tests}, tried)


@allow(BENCH, shows=AccessKind.VISIT)
@once
@require_http_methods(["GET", "POST"])
@at_step(Step.SAFETY)
def steps(request: SalonRequest, visit: Visit) -> HttpResponse:
    """Show the steps before the toner; record a further one."""
    return _step_page(request, visit, None)


@allow(BENCH, shows=AccessKind.VISIT)
@once
@require_http_methods(["GET", "POST"])
@at_step(Step.SAFETY)
def correct_step(request: SalonRequest, visit: Visit, step: int) -> HttpResponse:
    """Put a step right; the earlier row stays."""
    return _step_page(request, visit, access.step_or_404(visit, step))


def _step_page(request: SalonRequest, visit: Visit, step: VisitStep | None) -> HttpResponse:
    now = timezone.localtime()
    form = StepForm(request.POST or None, at=now, step=step)
    tried = attempt(
        request,
        visit,
        form,
        lambda data, version: services.record_step(
            visit=visit,
            replaces=step,
            by=request.user,
            at=now,
            expected_version=version,
            **data,
        ),
    )
    if tried.saved:
        messages.success(request, _("Step saved."))
        return lead(request, "consult:steps", visit.pk)
    return page(request, visit, "steps", {**_context(visit, form), "step": step}, tried)


@allow(BENCH)
@once
@require_POST
@at_step(Step.SAFETY)
def take_back_step(request: SalonRequest, visit: Visit, step: int) -> HttpResponse:
    """Take back a step that never happened."""
    recorded = access.step_or_404(visit, step)
    recorded.visit = visit
    tried = press(
        request,
        visit,
        lambda: services.take_back_step(
            step=recorded,
            by=request.user,
            at=timezone.now(),
            expected_version=posted_version(request),
        ),
    )
    if stale_in(tried):
        return page(request, visit, "steps", _context(visit), tried)
    if tried.saved:
        messages.success(request, _("Step removed."))
    return lead(request, "consult:steps", visit.pk)


def _context(visit: Visit, form: StepForm | None = None) -> dict[str, Any]:
    return {
        "form": form or StepForm(at=timezone.localtime()),
        "done": selectors.steps_in_force(visit),
    }
