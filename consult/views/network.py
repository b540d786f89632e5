"""What the scripts of a visit's pages ask for: keep a draft, drop it, say who is here."""

from django.http import HttpResponse, JsonResponse
from django.utils import timezone
from django.views.decorators.http import require_POST

from consult import access, services
from consult.forms import DraftForm, DropForm, HereForm
from consult.policies import VisitEnded
from consult.screens import client_view, drafts
from salon.access import BENCH, SalonRequest, allow


@allow(BENCH)
@require_POST
def draft(request: SalonRequest, pk: int) -> HttpResponse:
    """Keep what is typed; answer 409 with what changed where someone else has saved since."""
    visit = access.visit_or_404(request, pk)
    form = DraftForm(request.POST)
    if not form.is_valid():
        return JsonResponse({"refused": form.errors}, status=422)
    now, data = timezone.now(), form.cleaned_data
    try:
        services.keep_draft(
            visit=visit,
            step=data["step"],
            part=data["part"],
            fields=data["fields_"],
            base_version=data["version"],
            by=request.user,
            at=now,
        )
    except VisitEnded as refusal:
        return JsonResponse({"ended": str(refusal)}, status=409)
    answer: dict[str, object] = {"at": drafts.clock(now, now), "version": visit.version}
    if data["version"] == visit.version or client_view.visit_shown(request):
        return JsonResponse(answer)  # a client does not learn who did what
    answer["changes"] = drafts.changes_since_version(visit, data["version"], by=request.user)
    return JsonResponse(answer, status=409)


@allow(BENCH)
@require_POST
def drop(request: SalonRequest, pk: int) -> HttpResponse:
    """Forget a draft that is not wanted."""
    visit = access.visit_or_404(request, pk)
    form = DropForm(request.POST)
    if not form.is_valid():
        return JsonResponse({"refused": form.errors}, status=422)
    services.drop_draft(visit=visit, by=request.user, **form.cleaned_data)
    return HttpResponse(status=204)


@allow(BENCH)
@require_POST
def here(request: SalonRequest, pk: int) -> HttpResponse:
    """Note who is here; answer who else is, what was saved since, and the time."""
    visit = access.visit_or_404(request, pk)
    form = HereForm(request.POST)
    if not form.is_valid():
        return JsonResponse({"refused": form.errors}, status=422)
    now, data = timezone.now(), form.cleaned_data
    services.note_presence(
        visit=visit, seat=data["seat"], step=data["step"], by=request.user, at=now
    )
    answer: dict[str, object] = {
        "now": now.isoformat(),
        "version": visit.version,
        "changes": drafts.changes_since_version(visit, data["version"], by=request.user),
        "own": drafts.is_own(visit, data["version"], by=request.user),
        "others": drafts.others_on(visit, seat=data["seat"], by=request.user, at=now),
    }
    if data["first"]:
        answer["drafts"] = drafts.draft_offers(
            visit, step=data["step"], by=request.user, at=now
        )
        answer["arrived"] = drafts.was_sent(data["sent"], by=request.user)
    return JsonResponse(answer)
