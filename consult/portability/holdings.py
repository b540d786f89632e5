"""What the consultation holds of a person: for a claim, and what can be blanked."""

from django.db.models import CharField, Count, F, Max, Value
from django.db.models.functions import Cast, Concat
from django.utils.translation import gettext as _

from clients.privacy.holdings import Evidence
from consult.models import CardMail, Draft, Presence, Reaction, SignOff, Visit


def evidence(ids: list[int]) -> list[Evidence]:
    """Return sign-offs and reactions: what was agreed, and what happened."""
    kinds = (
        (_("sign-offs"), SignOff.objects.filter(visit__client__in=ids), "signed_at"),
        (_("reactions"), Reaction.objects.filter(visit__client__in=ids), "recorded_at"),
    )
    found = []
    for what, rows, moment in kinds:
        numbers = rows.order_by().aggregate(count=Count("pk"), last=Max(moment))
        if numbers["count"]:
            found.append(Evidence(what, numbers["count"], numbers["last"]))
    return found


def blank(ids: list[int]) -> None:
    """Overwrite why a visit was stopped and where its card went; drop what was not saved."""
    Visit.objects.filter(client__in=ids).update(stop_reason="")
    number = Cast(F("pk"), CharField())
    CardMail.objects.filter(visit__client__in=ids).update(
        address=Concat(Value("erased-"), number, Value("@example.invalid"))
    )
    Draft.objects.filter(visit__client__in=ids).delete()
    Presence.objects.filter(visit__client__in=ids).delete()
