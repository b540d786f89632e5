"""Writes of consents: each given or withdrawn by a further row."""

import datetime as dt

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from clients.models import Client, Consent, ConsentKind
from clients.people import person
from clients.people.age import ADULT_AGE
from clients.policies import check_can_work_at_desk
from salon import audit
from salon.models import Staff

_OF_HEALTH = {ConsentKind.HEALTH_RECORD, ConsentKind.RECORD_MOVE}


@transaction.atomic
def record_consent(
    *,
    client: Client,
    kind: str,
    wording: str,
    is_given: bool,
    by: Staff,
    at: dt.datetime,
    guardian: str = "",
    signed_name: str = "",
    strokes: str = "",
) -> Consent:
    """Record a consent given or withdrawn, with its words, signature and a minor's guardian."""
    check_can_work_at_desk(client, by=by)
    age = person.root(client).age_on(at.astimezone(client.salon.zone).date())
    needs_guardian = kind in _OF_HEALTH and is_given and not guardian
    if needs_guardian and age is not None and age < ADULT_AGE:
        raise ValidationError(
            {"guardian": _("Under %(age)d a parent or guardian agrees.") % {"age": ADULT_AGE}}
        )
    consent = Consent.objects.create(
        client=client,
        kind=kind,
        wording=wording,
        is_given=is_given,
        guardian=guardian,
        signed_name=signed_name,
        strokes=strokes,
        recorded_by=by,
        recorded_at=at,
    )
    audit.record_event("consent recorded", target=consent, by=by, at=at, given=is_given)
    return consent
