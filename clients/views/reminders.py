"""The queue of reminders: what waits, what failed, what it says."""

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from clients import access, services
from clients.forms import DeskPolicyForm, TemplateForm
from clients.messages import reminder_texts
from clients.models import ReminderKind
from clients.selectors import desk_policy
from clients.selectors import reminders as selectors
from clients.selectors.desk import is_quiet
from salon.access import DESK, OWNER, SalonRequest, allow
from salon.attempts import press


@allow(DESK)
@require_GET
def reminders(request: SalonRequest) -> HttpResponse:
    """Show the queue; `look` queues what has come up, as the timer does."""
    now = timezone.now()
    context = {
        "queue": selectors.queue(salon=request.salon),
        "unsettled": selectors.unsettled(salon=request.salon, at=now),
        "coming": selectors.coming(salon=request.salon, at=now),
        "lately": selectors.lately(salon=request.salon),
        "templates": selectors.templates(salon=request.salon),
        "is_quiet": is_quiet(salon=request.salon, at=now),
        "desk": desk_policy(salon=request.salon),
    }
    return render(request, "clients/reminders.html", context)


@allow(DESK)
@require_GET
def preview(request: SalonRequest, pk: int) -> HttpResponse:
    """Show one reminder as it would be sent now."""
    reminder = access.reminder_or_404(request, pk)
    shown = selectors.preview(reminder=reminder, at=timezone.now())
    return render(request, "clients/reminder.html", {"preview": shown, "reminder": reminder})


@allow(DESK)
@require_POST
def settle(request: SalonRequest, pk: int) -> HttpResponse:
    """Decide about one that failed or was left between."""
    reminder = access.reminder_or_404(request, pk)
    press(
        request,
        lambda: services.settle_reminder(
            reminder=reminder,
            send_again=request.POST.get("again") == "1",
            by=request.user,
            at=timezone.now(),
        ),
    )
    return redirect("clients:reminders")


@allow(OWNER)
@require_http_methods(["GET", "POST"])
def template(request: SalonRequest, kind: str) -> HttpResponse:
    """Change the words of one kind of reminder."""
    if kind not in ReminderKind.values:
        raise Http404(_("This page does not exist, or it belongs to another salon."))
    form = TemplateForm(
        request.POST if request.method == "POST" else None,
        instance=reminder_texts.template_of(request.salon, kind),
    )
    if request.method == "POST" and form.is_valid():
        services.change_template(
            kind=kind, by=request.user, at=timezone.now(), **form.cleaned_data
        )
        messages.success(request, _("Saved."))
        return redirect("clients:reminders")
    context = {"form": form, "kind": ReminderKind(kind).label}
    return render(
        request, "clients/reminder_template.html", context, status=422 if form.errors else 200
    )


@allow(OWNER)
@require_http_methods(["GET", "POST"])
def desk(request: SalonRequest) -> HttpResponse:
    """Change how the desk works: medical notes, history, quiet hours."""
    policy = desk_policy(salon=request.salon)
    names = ("desk_sees_medical_notes", "history_years", "quiet_from", "quiet_until")
    form = DeskPolicyForm(
        request.POST if request.method == "POST" else None,
        initial={name: getattr(policy, name) for name in names},
    )
    if request.method == "POST" and form.is_valid():
        services.change_desk_policy(by=request.user, at=timezone.now(), **form.cleaned_data)
        messages.success(request, _("Saved."))
        return redirect("clients:reminders")
    return render(
        request, "clients/desk_policy.html", {"form": form}, status=422 if form.errors else 200
    )
