"""Writes of what is typed at the desk and not saved yet. No record, so without audit event."""

import datetime as dt

from django.db import transaction

from clients.models import DeskDraft
from clients.policies import check_can_work_at_desk
from salon.models import Staff
from salon.submissions import was_sent

KEPT_FOR = dt.timedelta(days=1)
MOST = 20


@transaction.atomic
def keep_draft(
    *, address: str, fields: list[list[str]], once: str, by: Staff, at: dt.datetime
) -> None:
    """Keep one page's form for the person who types it; forget what is older than a day.

    A form that has arrived in the meantime (`once`) leaves no draft behind.
    """
    check_can_work_at_desk(by=by)
    DeskDraft.objects.filter(updated_at__lt=at - KEPT_FOR).delete()
    if once and was_sent(once, by=by):
        return
    DeskDraft.objects.update_or_create(
        staff=by, address=address, defaults={"fields": fields, "updated_at": at}
    )
    drafts = DeskDraft.objects.filter(staff=by).order_by("-updated_at", "-pk")
    DeskDraft.objects.filter(pk__in=list(drafts.values_list("pk", flat=True)[MOST:])).delete()


def drop_draft(*, address: str, by: Staff) -> None:
    """Forget what was typed into a page's form: it was saved, or is not wanted."""
    check_can_work_at_desk(by=by)
    DeskDraft.objects.filter(staff=by, address=address).delete()
