"""The client's choice, and the signature under it."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.db import transaction
from django.utils.translation import gettext as _

from clients.models.client import searchable
from clients.people import person
from clients.people.age import ADULT_AGE
from consult import policies, selectors
from consult.agreement import planning, signing, snapshot, strokes, verification, wordings
from consult.agreement.chosen_places import chosen_places
from consult.hair import stops
from consult.models import Choice, ChosenPlace, Method, SignOff, Visit
from consult.models.hair import HALF_LEVELS
from consult.services.steps import OutOfOrder, advance, check_may
from consult.visit.path import Act
from formulas.head_suggestion import HeadPlace
from salon import audit, languages, signing_keys
from salon.models import Salon, Staff
from salon.refusals import Refused
from salon.selectors import policy_in_force


class ChoiceIncomplete(Refused):
    """Raised when a group of zones has no place, or one that does not exist."""


class SigningRefused(Refused):
    """Raised when a sign-off is empty, or there is nothing new to sign."""


@dataclass(frozen=True)
class Pick:
    """Where the client wants one group of zones to be; `parts` where a mix is repeated."""

    zones: str
    warmth_aim_percent: float
    parts: tuple[tuple[str, float], ...] = ()


@transaction.atomic
def choose(
    *,
    visit: Visit,
    picks: Sequence[Pick] = (),
    head_aim: float | None = None,
    wanted_level: Decimal | None = None,
    by: Staff,
    at: dt.datetime,
    expected_version: int | None = None,
) -> Choice:
    """Record the client's place for every group of zones; the numbers are computed here.

    With `head_aim`, a warmth of the whole head, every group gets its mix of that place. With
    `wanted_level` places are as dark as natural hair of that level.
    """
    policies.check_can_work_on(by=by, visit=visit)
    stops.check_not_stopped(visit)
    readings = check_may(visit, Act.CHOOSE, at=at).readings
    if wanted_level is not None and wanted_level not in HALF_LEVELS:
        raise ChoiceIncomplete(
            _("Choose how dark it should be from the list."), code="depth_unknown"
        )
    plans = planning.plans(visit, readings, at=at, wanted_level=wanted_level)
    place = None
    if head_aim is not None:
        place = planning.whole_head(visit, plans).nearest(head_aim)
        picks = _picks_of(place)
    picked = {pick.zones: pick for pick in picks}
    if set(picked) != set(plans):
        raise ChoiceIncomplete(
            _("Choose a place for each part of the hair."), code="place_missing"
        )
    earlier = Choice.objects.filter(visit=visit).count()
    versions = next(iter(plans.values())).versions
    language = visit.client.speaks(visit.salon)
    wording = wordings.in_force(visit.salon, language)
    language = wording.language if wording else language
    advance(
        visit,
        kind="place chosen",
        by=by,
        at=at,
        expected_version=expected_version,
        number=earlier + 1,
    )
    choice = Choice.objects.create(
        visit=visit,
        number=earlier + 1,
        engine_version=versions["engine"],
        data_version=versions["data"],
        policy_number=policy_in_force(salon=visit.salon).number,
        wording=wording,
        language=language,
        wanted_level=wanted_level,
        recorded_at=at,
        recorded_by=by,
    )
    aims = {key: pick.warmth_aim_percent for key, pick in picked.items()}
    mixes = {key: dict(pick.parts) for key, pick in picked.items() if pick.parts}
    with languages.speaking(language):  # it is the client who reads and signs it
        rows = chosen_places(
            plans, readings, visit, aims=aims, wording=wording, mixes=mixes, place=place
        )
    for key, row in rows.items():
        ChosenPlace.objects.create(choice=choice, zones=key, **vars(row))
    return choice


def _picks_of(place: HeadPlace) -> list[Pick]:
    """Return the mix of every group at a place of the head."""
    return [
        Pick(
            key,
            mix["warmth_left_percent"],
            tuple((str(name), float(part)) for name, part in mix["parts"]),
        )
        for key, mix in place.zones.items()
    ]


@transaction.atomic
def sign_off(
    *,
    visit: Visit,
    choice: Choice | None,
    method: str,
    signed_name: str,
    by: Staff,
    at: dt.datetime,
    drawn: str = "",
    is_turned: bool = False,
    guardian_of: str = "",
    expected_version: int | None = None,
) -> SignOff:
    """Freeze the choice as shown, under the client's signature, in the salon's signed chain.

    `is_turned` says that the pad stood upside down for the hand that drew.
    """
    policies.check_can_work_on(by=by, visit=visit)
    stops.check_not_stopped(visit)
    check_may(visit, Act.SIGN, at=at)
    name = signed_name.strip()
    choice = _checked_choice(visit, choice)
    _check_name(visit, name, guardian_of, at)
    lines = _checked_strokes(method, drawn, is_turned=is_turned)
    # One signature at a time within a salon: the next link needs the one before it. Rows that
    # only point at the salon are written at the same time (FOR NO KEY UPDATE).
    salon = Salon.objects.select_for_update(no_key=True).get(pk=visit.salon_id)
    last = SignOff.objects.filter(salon=salon).order_by("-number").first()
    number = last.number + 1 if last else 1
    previous = last.digest if last else signing.GENESIS
    frozen = signing.canonical_json(
        snapshot.of_choice(
            visit,
            choice,
            signed={
                "name": name,
                "method": method,
                "guardian_of": guardian_of,
                "witness_id": by.pk,
                "witness": by.display_name,
                "at": signing.moment(at),
                "strokes_sha256": signing.text_digest(lines),
            },
        )
    )
    advance(
        visit,
        kind="choice signed",
        by=by,
        at=at,
        expected_version=expected_version,
        number=number,
    )
    row = SignOff(
        salon=salon,
        visit=visit,
        choice=choice,
        number=number,
        method=method,
        signed_name=name,
        guardian_of=guardian_of,
        strokes=lines,
        witness=by,
        signed_at=at,
        snapshot=frozen,
        previous_digest=previous,
    )
    signing.sign(row, signing_keys.signer())
    row.save()
    audit.record_event(
        verification.LINKED, target=row, by=by, at=at, number=number, digest=row.digest
    )
    return row


def needs_guardian(visit: Visit, at: dt.datetime) -> bool:
    """Return whether a guardian signs: the client is of age for colour but no adult."""
    whole = person.root(visit.client)
    age = whole.age_on(at.astimezone(visit.salon.zone).date())
    return age is not None and age < ADULT_AGE


def _checked_choice(visit: Visit, choice: Choice | None) -> Choice:
    """Return the current choice, or refuse one that no longer does, or is signed."""
    latest = selectors.choice_in_force(visit)
    if latest is None or choice is None or latest.pk != choice.pk:
        raise SigningRefused(
            _("The choice has changed since you opened it. Show the client the new one."),
            code="changed",
        )
    if selectors.sign_off_of(latest):
        raise OutOfOrder(_("This choice is already signed."), code="already_signed")
    return latest


def _check_name(visit: Visit, name: str, guardian_of: str, at: dt.datetime) -> None:
    if not any(c.isalpha() for c in name):
        raise SigningRefused(_("Type the name of the person who signs."), code="no_name")
    if not needs_guardian(visit, at):
        return
    if not guardian_of:
        raise SigningRefused(
            _("Under %(age)d a parent or guardian signs."), code="minor", age=ADULT_AGE
        )
    if searchable(name) in {searchable(visit.client.name), searchable(visit.client.known_as)}:
        raise SigningRefused(
            _("Type the guardian's name, not the client's."), code="own_guardian"
        )


def _checked_strokes(method: str, drawn: str, *, is_turned: bool) -> str:
    """Return the cleaned strokes, or refuse what cannot count as a signature."""
    if method == Method.TYPED:
        return ""
    if method != Method.DRAWN:
        raise SigningRefused(_("Sign with a finger, or type the name."), code="empty")
    try:
        return strokes.cleaned(drawn, is_turned=is_turned)
    except strokes.SignatureEmpty as refusal:
        raise SigningRefused.of(refusal) from refusal
