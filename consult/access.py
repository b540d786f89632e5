"""Lookups of the bench, always inside the request's salon."""

from clients.models import ReceivedRecord, RecordMove
from clients.privacy.shut import check_not_shut
from consult.models import Anchor, BowlMixed, CardMail, SignOff, Visit, VisitStep
from salon.access import SalonRequest, one_or_404
from salon.linked_salons.links import salons_of_same_owner


def visit_or_404(request: SalonRequest, pk: int) -> Visit:
    """Return a visit of the request's salon, with what a page shows of it."""
    visit = one_or_404(Visit.objects.for_salon(request.salon).for_show(), pk=pk)
    check_not_shut(visit.client)
    return visit


def mail_or_404(visit: Visit, pk: int) -> CardMail:
    """Return a mailed card of a visit."""
    return one_or_404(CardMail.objects.filter(visit=visit).select_related("visit"), pk=pk)


def bowl_or_404(visit: Visit, pk: int) -> BowlMixed:
    """Return a bowl of a visit, which it knows."""
    bowls = BowlMixed.objects.filter(visit=visit).select_related("formula")
    bowl = one_or_404(bowls, pk=pk)
    bowl.visit = visit
    return bowl


def sign_off_or_404(visit: Visit, pk: int) -> SignOff:
    """Return a sign-off of a visit."""
    return one_or_404(
        SignOff.objects.filter(visit=visit).select_related("witness", "choice"), pk=pk
    )


def step_or_404(visit: Visit, pk: int) -> VisitStep:
    """Return a step of a visit."""
    return one_or_404(VisitStep.objects.filter(visit=visit), pk=pk)


def move_or_404(request: SalonRequest, pk: int) -> RecordMove:
    """Return a move that a client of the request's salon agreed to."""
    moves = RecordMove.objects.filter(salon=request.salon)
    move = one_or_404(moves.select_related("client__merged_into", "to_salon"), pk=pk)
    check_not_shut(move.client)
    return move


def move_to_receive_or_404(request: SalonRequest, pk: int) -> RecordMove:
    """Return a move to the request's salon; what it is about belongs to the other one."""
    ours = salons_of_same_owner(request.salon)
    moves = RecordMove.objects.filter(to_salon=request.salon, salon__in=ours, client__shut="")
    rows = moves.select_related("salon", "to_salon", "client__merged_into", "consent")
    return one_or_404(rows, pk=pk)


def received_or_404(request: SalonRequest, pk: int) -> ReceivedRecord:
    """Return a copy of another salon's record that is not deleted."""
    records = ReceivedRecord.objects.filter(salon=request.salon, deleted_at__isnull=True)
    rows = records.select_related("salon", "client__salon", "client__merged_into")
    record = one_or_404(rows, pk=pk)
    check_not_shut(record.client)
    return record


def anchor_or_404(request: SalonRequest, pk: int) -> Anchor:
    """Return an anchor of the request's salon."""
    return one_or_404(Anchor.objects.filter(salon=request.salon), pk=pk)
