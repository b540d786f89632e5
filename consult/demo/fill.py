"""Fill the demo salon: the same stories for the same seed and reference moment."""

import datetime as dt

from django.db import transaction

from clients.sealed import keys
from consult.demo import (
    house,
    patch_stories,
    photo_stories,
    preparation_stories,
    today_stories,
    visit_stories,
)
from consult.history import kept_figures
from salon.models import Salon


@keys.at_hand()
@transaction.atomic
def fill(*, now: dt.datetime, seed: int = 7) -> Salon:
    """Create the demo salon as of `now`, through the services that the screens call."""
    built = house.build(now=now.replace(microsecond=0), seed=seed)
    visit_stories.build(built)
    patch_stories.build(built)
    preparation_stories.reword(built)
    today_stories.build(built)
    photo_stories.build(built)
    for pks in kept_figures.missing(built.salon):
        kept_figures.keep(pks, salon=built.salon)
    return built.salon
