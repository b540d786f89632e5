"""Learned strengths: put to use by an owner, and taken back."""

import datetime as dt
from collections.abc import Mapping

from django.db import transaction
from django.utils.translation import gettext as _

from formulas import engine, policies
from formulas.models import ProductLine, Shade, StrengthRevision
from formulas.services.lines import take_version
from formulas.strength_proposal import Proposal
from salon import audit
from salon.models import Staff
from salon.refusals import Refused

LEAST, MOST = 0.2, 5.0  # beyond these a shade is no longer what its line says it is


class StrengthsRefused(Refused):
    """Raised when strengths cannot be put to use, or there is nothing to take back."""


@transaction.atomic
def accept_strengths(
    *, line: ProductLine, proposal: Proposal, by: Staff, at: dt.datetime
) -> StrengthRevision:
    """Put proposed strengths and ranges to use; what was before is kept with them."""
    policies.check_can_change_lines(by=by, line=line)
    if not proposal.is_offered:
        raise StrengthsRefused(
            _("These strengths would not predict better than those in use."), code="no_better"
        )
    wanted = {
        proposed.pk: proposed.proposed for proposed in proposal.shades if proposal.is_better
    }
    if not all(LEAST <= value <= MOST for value in wanted.values()):
        raise StrengthsRefused(
            _("One shade would become less than a fifth or more than five times as strong."),
            code="too_far",
        )
    before, after = proposal.before, proposal.after
    misses = {
        "missed_levels": before.levels if before else None,
        "missed_warmth": before.warmth_percent if before else None,
        "left_out_levels": after.levels if after else None,
        "left_out_warmth": after.warmth_percent if after else None,
    }
    revision = _set(
        line, wanted, proposal.doubts, by=by, at=at, results=proposal.results, **misses
    )
    audit.record_event(
        "strengths accepted", target=line, by=by, at=at, revision=revision.number
    )
    return revision


@transaction.atomic
def take_strengths_back(*, line: ProductLine, by: Staff, at: dt.datetime) -> StrengthRevision:
    """Put back what stood before the revision in force, as a further revision."""
    policies.check_can_change_lines(by=by, line=line)
    latest = line.strength_revisions.first()
    if latest is None or latest.is_taken_back:
        raise StrengthsRefused(_("There is nothing to undo."), code="nothing_to_undo")
    wanted = {int(pk): float(value) for pk, value in latest.earlier.items()}
    revision = _set(
        line, wanted, latest.earlier_doubts, by=by, at=at, results=latest.results,
        is_taken_back=True,
    )  # fmt: skip
    audit.record_event(
        "strengths taken back", target=line, by=by, at=at, revision=revision.number
    )
    return revision


def _set(
    line: ProductLine,
    wanted: Mapping[int, float],
    doubts: Mapping[str, object],
    *,
    by: Staff,
    at: dt.datetime,
    **fields: object,
) -> StrengthRevision:
    take_version(line, line.data_version)
    shades = list(Shade.objects.select_for_update().filter(line=line, pk__in=wanted))
    earlier = {str(shade.pk): shade.strength for shade in shades}
    for shade in shades:
        shade.strength = wanted[shade.pk]
        shade.save(update_fields=["strength"])
    earlier_doubts, line.doubts = line.doubts, dict(doubts)
    line.save(update_fields=["doubts"])
    latest = line.strength_revisions.first()
    return StrengthRevision.objects.create(
        line=line,
        number=latest.number + 1 if latest else 1,
        strengths={str(pk): value for pk, value in wanted.items()},
        earlier=earlier,
        doubts=line.doubts,
        earlier_doubts=earlier_doubts,
        engine_version=engine.VERSION,
        data_version=line.data_version,
        accepted_at=at,
        accepted_by=by,
        **fields,
    )
