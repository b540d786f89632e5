"""What the front desk holds of a person."""

from django.db.models import Count, Max, Q
from django.utils.translation import gettext as _

from clients.models import (
    Appointment,
    CancelReason,
    Client,
    ClientAlert,
    DeskDraft,
    PatchOverride,
    PatchTest,
    Reminder,
    SafetyAnswer,
    SearchKey,
    ValueToCorrect,
    Waiting,
    WaitingEntry,
)
from clients.privacy.holdings import Evidence


def evidence(ids: list[int]) -> list[Evidence]:
    """Return tests, warnings, answers and overrides: they say what the salon knew."""
    kinds = (
        (_("patch tests"), PatchTest.objects.filter(client__in=ids), "applied_at"),
        (_("alerts"), ClientAlert.objects.filter(client__in=ids), "recorded_at"),
        (_("safety answers"), SafetyAnswer.objects.filter(client__in=ids), "answered_at"),
        (
            _("overrides"),
            PatchOverride.objects.filter(appointment__client__in=ids),
            "recorded_at",
        ),
    )
    found = []
    for what, rows, moment in kinds:
        numbers = rows.order_by().aggregate(count=Count("pk"), last=Max(moment))
        if numbers["count"]:
            found.append(Evidence(what, numbers["count"], numbers["last"]))
    return found


def blank(ids: list[int]) -> None:
    """Overwrite names, ways to reach the person and notes; delete what is only for use."""
    for client in Client.objects.filter(pk__in=ids):
        client.name = _("Erased client %(number)d") % {"number": client.pk}
        client.known_as = client.note = client.language = ""
        client.phone = client.email = ""
        client.birth_date = client.preferred_stylist = client.household = None
        client.retone_weeks = None
        client.save()
    booked = Appointment.objects.filter(client__in=ids)
    booked.update(note="", deposit_note="")
    booked.exclude(cancel_reason__in=CancelReason.values).update(cancel_reason="")
    waiting = WaitingEntry.objects.filter(client__in=ids)
    waiting.update(note="")
    waiting.filter(status=Waiting.OPEN).update(status=Waiting.WITHDRAWN)
    Reminder.objects.filter(client__in=ids).delete()
    ValueToCorrect.objects.filter(client__in=ids).delete()
    SearchKey.objects.filter(client__in=ids).delete()
    mentioned = Q()
    for pk in ids:
        mentioned |= Q(address__contains=f"clients/{pk}/") | Q(address__contains=f"client={pk}")
    DeskDraft.objects.filter(mentioned).delete()
