"""At the bench: another mix in place of one that the shelf does not fill."""

from django.contrib import messages
from django.http import HttpResponse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from consult import services
from consult.bench.reasons import STOCK_SHORT, reason
from consult.bench.swap import Swap
from consult.forms import SwapForm
from consult.models import ChosenPlace, Source, Visit
from consult.views import bench
from consult.views.doors import at_step, attempt, facts_for, lead
from consult.visit.path import Step
from salon.access import BENCH, SalonRequest, allow
from salon.refusals import Refused
from salon.submissions import once


class ShelfChanged(Refused):
    """Raised when another mix than the one that was shown is the nearest now."""


@allow(BENCH)
@once
@require_POST
@at_step(Step.BENCH)
def swap(request: SalonRequest, visit: Visit) -> HttpResponse:
    """Decide the mix that was shown, or take it to the signature where it is not as signed."""
    form = SwapForm(request.POST)
    formula = bench.posted_formula(request, facts_for(request, visit).formulas)
    found = bench.nearest_mix(request, visit, formula)

    def write(data: dict[str, object], version: int) -> None:
        if found is None or found.side.as_text != data["parts"]:
            raise ShelfChanged(_("The stock has changed since. Look at the mix again."))
        if found.strays:
            _choose(request, visit, found, version)
        else:
            _decide(request, visit, found, version)

    tried = attempt(request, visit, form, write)
    if not tried.saved or found is None:
        errors = [str(error) for error in form.non_field_errors()]
        return bench.drawn(request, visit, tried, swapping=formula, refused=errors)
    if found.strays:
        messages.info(request, _("The client signs this mix before it is weighed."))
        return lead(request, "consult:sign", visit.pk)
    messages.success(request, _("The mix is changed. Weigh this one."))
    return lead(request, "consult:bench", visit.pk)


def _decide(request: SalonRequest, visit: Visit, found: Swap, version: int) -> None:
    old, mix = found.formula, found.side
    services.decide_formula(
        visit=visit,
        zones_key=old.zones,
        parts=mix.parts,
        source=Source.SUGGESTED,
        reasons=[reason(STOCK_SHORT)],
        bowl_grams=mix.bowl_grams,
        minutes=mix.minutes,
        zone_minutes=mix.zone_minutes,
        developer_percent=old.developer_percent,
        by=request.user,
        at=timezone.now(),
        expected_version=version,
    )


def _choose(request: SalonRequest, visit: Visit, found: Swap, version: int) -> None:
    """Choose the mix for the parts that it serves; the others keep what they have."""
    outcomes = {outcome.place.zones: outcome for outcome in found.side.outcomes}

    def pick(place: ChosenPlace) -> services.Pick:
        outcome = outcomes.get(place.zones)
        if outcome is None:
            shown = tuple((str(n), float(part)) for n, part in place.shown["chosen"]["parts"])
            return services.Pick(place.zones, place.warmth_aim_percent, shown)
        warmth = float(outcome.predicted["warmth_left_percent"]["value"])
        return services.Pick(place.zones, warmth, found.parts_by_name)

    choice = found.formula.sign_off.choice
    services.choose(
        visit=visit,
        picks=[pick(place) for place in choice.places.all()],
        wanted_level=choice.wanted_level,
        by=request.user,
        at=timezone.now(),
        expected_version=version,
    )
