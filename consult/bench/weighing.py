"""The bowl while it is weighed: an over-pour moves what is still to come."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from consult.forms import BowlForm
from consult.models import BowlLine
from formulas import mixing
from formulas.models import ProductLine


@dataclass(frozen=True)
class Target:
    """What one line must come to, and what is still to be added."""

    pk: int
    grams: Decimal
    top_up: Decimal
    in_bowl: bool


@dataclass(frozen=True)
class Rescaled:
    """The bowl as it has to become.

    `developer` is what the formula's ratio asks for. Where the developer is in the bowl
    already, `mixture` holds what is in it, and one of the last two says what would bring the
    ratio back: more developer, or colour up to so many grams.
    """

    targets: Mapping[int, Target]
    extra_grams: Decimal
    developer: Decimal
    mixture: mixing.Mixture
    more_developer: Decimal = Decimal(0)
    colour_for_ratio: Decimal = Decimal(0)

    @property
    def has_moved(self) -> bool:
        """Whether the bowl is larger than planned."""
        return self.extra_grams > 0


def rescale(form: BowlForm) -> Rescaled:
    """Return what each line must weigh, given those that are in the bowl already."""
    step, ratio = form.scale_step, form.mix.developer_ratio
    planned = {str(line.shade_id): line.grams for line in form.lines}
    poured = {str(pk): grams for pk, grams in form.in_bowl.items()}
    whole = mixing.rescale_after_over_pour(planned, poured, scale_step=step)
    top_up = dict(whole.top_up)
    targets = {
        int(key): Target(int(key), grams, top_up[key], key in poured)
        for key, grams in whole.grams
    }
    colour = {pk: target.grams for pk, target in targets.items()}
    total = sum(colour.values(), Decimal(0))
    wanted = mixing.developer_grams(total, ratio=ratio, scale_step=step)
    actual = form.developer if form.has_developer else wanted
    more, colour_for_ratio = Decimal(0), Decimal(0)
    if actual < wanted:
        more = wanted - actual
    elif actual > wanted:
        colour_for_ratio = mixing.to_step(actual / ratio, step)
    return Rescaled(
        targets=targets,
        extra_grams=whole.extra_grams,
        developer=wanted,
        mixture=form.mixture(colour, actual),
        more_developer=more,
        colour_for_ratio=colour_for_ratio if colour_for_ratio > total else Decimal(0),
    )


def planned_mixture(form: BowlForm) -> mixing.Mixture:
    """Return the bowl as the formula plans it."""
    colour = {line.shade_id: line.grams for line in form.lines}
    return form.mixture(colour, form.mix.developer_grams)


def followed(form: BowlForm, rescaled: Rescaled) -> BowlForm:
    """Return the form with what is still to come at its new weight.

    What is in the bowl stays as it was entered, the developer too.
    """
    data: Any = form.data.copy()  # type: ignore[attr-defined]
    for pk, target in rescaled.targets.items():
        _move(data, str(pk), f"poured-{pk}", target.grams, is_in=target.in_bowl)
    _move(data, "developer", "developer_grams", rescaled.developer, is_in=form.has_developer)
    moved = BowlForm(data, mix=form.mix, scale_step=form.scale_step)
    moved.is_valid()  # with the new weight of the developer its two bottles move as well
    return moved


def _move(data: Any, key: str, name: str, grams: Decimal, *, is_in: bool) -> None:
    if is_in:
        data[f"in_bowl-{key}"] = "on"
    else:
        data[name] = data[f"asked-{key}"] = f"{grams:f}"


def batches_in_use(line: ProductLine) -> dict[int, str]:
    """Return the batch that was last poured of each shade."""
    rows = (
        BowlLine.objects.filter(shade__line=line)
        .exclude(batch="")
        .order_by("pk")
        .values_list("shade_id", "batch")
    )
    return dict(rows)
