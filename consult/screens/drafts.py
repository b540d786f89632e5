"""Reads of what is typed and not saved yet, and of who else is on a visit."""

import datetime as dt
import hashlib
import hmac
import secrets

from django.conf import settings
from django.db.models import QuerySet
from django.http import HttpRequest
from django.utils import formats, timezone
from django.utils.translation import gettext as _

from consult.models import Draft, Presence, Visit, VisitEvent
from consult.services.network import HERE_FOR, KEPT_FOR
from consult.services.steps import changes_since
from consult.visit.path import LABELS, Step
from salon.models import Staff
from salon.submissions import was_sent

SEED = "local_secret_seed"

__all__ = [
    "changes_since_version",
    "draft_offers",
    "drafts_of",
    "local_secret",
    "others_on",
    "was_sent",
]


def drafts_of(visit: Visit, *, step: str, by: Staff, at: dt.datetime) -> QuerySet[Draft]:
    """Return what someone typed at a step and did not save, the latest last."""
    fresh = Draft.objects.filter(visit=visit, step=step, staff=by, updated_at__gt=at - KEPT_FOR)
    return fresh.order_by("updated_at")


def draft_offers(
    visit: Visit, *, step: str, by: Staff, at: dt.datetime
) -> list[dict[str, object]]:
    """Return one's own drafts of a step, with what was saved since each was begun."""
    return [
        {
            "part": draft.part,
            "fields": draft.fields,
            "version": draft.base_version,
            "at": clock(draft.updated_at, at),
            "changes": changes_since_version(visit, draft.base_version, by=by),
            "own": is_own(visit, draft.base_version, by=by),
        }
        for draft in drafts_of(visit, step=step, by=by, at=at)
    ]


def kept_fields(visit: Visit, *, step: str, by: Staff, at: dt.datetime) -> dict[str, str]:
    """Return what was left in a step's form, unless the visit has moved on since."""
    draft = drafts_of(visit, step=step, by=by, at=at).filter(part="").first()
    return dict(draft.fields) if draft and draft.base_version == visit.version else {}


def changes_since_version(visit: Visit, version: int, *, by: Staff) -> list[str]:
    """Say what was saved after a version, by whom and when."""
    if version >= visit.version:
        return []
    return [_change_text(event, by) for event in changes_since(visit, version)]


def is_own(visit: Visit, version: int, *, by: Staff) -> bool:
    """Return whether nobody else saved anything after a version, so that none conflicts."""
    return not visit.events.filter(version__gt=version).exclude(recorded_by=by).exists()


def _change_text(event: VisitEvent, by: Staff) -> str:
    name = _("You") if event.recorded_by_id == by.pk else event.recorded_by.display_name
    return _("%(who)s, %(when)s: %(what)s") % {
        "who": f"\u2068{name}\u2069",
        "when": formats.time_format(timezone.localtime(event.recorded_at), "TIME_FORMAT"),
        "what": event.label,
    }


def others_on(visit: Visit, *, seat: str, by: Staff, at: dt.datetime) -> list[str]:
    """Say who else has a page of the visit open, where and since when."""
    here = (
        Presence.objects.filter(visit=visit, seen_at__gt=at - HERE_FOR)
        .exclude(staff=by, seat=seat)
        .select_related("staff")
        .order_by("since", "pk")
    )
    return list(dict.fromkeys(_presence_text(presence, by) for presence in here))


def _presence_text(presence: Presence, by: Staff) -> str:
    values = {
        "who": f"\u2068{presence.staff.display_name}\u2069",
        "step": step_label(presence.step),
        "when": formats.time_format(timezone.localtime(presence.since), "TIME_FORMAT"),
    }
    if presence.staff_id == by.pk:
        return _("You have this visit open on another screen, at “%(step)s”.") % values
    return _("%(who)s has had this visit open since %(when)s, at “%(step)s”.") % values


def step_label(step: str) -> str:
    """Return a step's name on the path; the overview for a page that is no step."""
    return str(LABELS[Step(step)] if step in {known.value for known in Step} else _("Overview"))


def clock(moment: dt.datetime, now: dt.datetime) -> str:
    """Return a time of day; with its date where that is another day."""
    here, today = timezone.localtime(moment), timezone.localtime(now)
    if here.date() == today.date():
        return formats.time_format(here, "TIME_FORMAT")
    return formats.date_format(here, "SHORT_DATETIME_FORMAT")


def local_secret(request: HttpRequest) -> str:
    """Return what the browser's key for unsent text is made from: this person, this session.

    The seed dies with the session, and the salon's secret key is no part of the database: a
    copy of either alone opens nothing that is left on a tablet.
    """
    seed = request.session.get(SEED)
    if seed is None:
        seed = request.session[SEED] = secrets.token_hex(32)
    message = f"local drafts:{request.user.pk}:{seed}".encode()
    return hmac.new(settings.SECRET_KEY.encode(), message, hashlib.sha256).hexdigest()
