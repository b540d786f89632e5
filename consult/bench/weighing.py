"""The bowl while it is weighed: an over-pour moves what is still to come."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from consult.bench.recipes import SCALE_STEP
from consult.forms.bench import BowlForm
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
    """The bowl as it has to become."""

    targets: dict[int, Target]
    developer: Decimal
    extra_grams: Decimal

    @property
    def has_moved(self) -> bool:
        """Whether the bowl is larger than planned."""
        return self.extra_grams > 0


def rescale(form: BowlForm) -> Rescaled:
    """Return what each line must weigh, given those that are in the bowl already."""
    planned = {str(line.shade_id): line.grams for line in form.lines}
    poured = {str(pk): grams for pk, grams in form.in_bowl.items()}
    told = mixing.rescale_after_over_pour(planned, poured, scale_step=SCALE_STEP)
    top_up = dict(told.top_up)
    colour = sum((grams for _, grams in told.grams), Decimal(0))
    developer = mixing.developer_grams(
        colour, ratio=form.mix.developer_ratio, scale_step=SCALE_STEP
    )
    targets = {
        int(name): Target(int(name), grams, top_up[name], name in poured)
        for name, grams in told.grams
    }
    return Rescaled(targets, developer, told.extra_grams)


def followed(form: BowlForm, told: Rescaled) -> BowlForm:
    """Return the form with the lines still to come, and the developer, at their new weights."""
    data: Any = form.data.copy()  # type: ignore[attr-defined]
    for pk, target in told.targets.items():
        if target.in_bowl:
            data[f"in_bowl-{pk}"] = "on"
        else:
            data[f"poured-{pk}"] = data[f"asked-{pk}"] = f"{target.grams:f}"
    data["developer_grams"] = f"{told.developer:f}"
    moved = BowlForm(data, mix=form.mix)
    moved.is_valid()  # with the new weight of the developer its two bottles move as well
    return moved


def batches_in_use(line: ProductLine) -> dict[int, str]:
    """Return the batch that was last poured of each shade."""
    rows = (
        BowlLine.objects.filter(shade__line=line)
        .exclude(batch="")
        .order_by("pk")
        .values_list("shade_id", "batch")
    )
    return dict(rows)
