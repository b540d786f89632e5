"""The contact sheet's pictures of the client's choice: each kind of hair, lying and upright."""

from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from consult.demo import cast
from formulas.engine.light.colorimetry import delta_e_2000
from salon.drawing.colour import linear_to_lab
from tests import screenshots
from tests.browser.conftest import PASSWORD, TABLET
from tests.factories.consult import Story
from tests.screenshots_of_hair import KINDS
from tests.typed import Seat

# Of the picture that lies: where the left head is, without its edge.
HEAD = (0.24, 0.18, 0.32, 0.48)


def test_five_kinds_of_hair_stand_in_the_contact_sheet(
    story: Story, seat: Seat, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each picture shows another hair; the pale one is the lightest."""
    monkeypatch.setattr(screenshots, "SHEET", tmp_path)
    monkeypatch.setattr(cast, "PASSWORD", PASSWORD)
    page = seat("brigid", PASSWORD, viewport=TABLET)
    page.wait_for_load_state()

    screenshots.photograph_hair(page)

    names = [kind.replace(" ", "-") for kind in KINDS]
    assert len(names) == 5
    assert {file.name for file in tmp_path.iterdir()} == {
        f"way-hair-{name}-{device}.png"
        for name in names
        for device in ("tablet", "tablet-upright")
    }
    seen = {name: _mean(tmp_path / f"way-hair-{name}-tablet.png") for name in names}
    for one, other in combinations(names, 2):
        assert float(delta_e_2000(seen[one], seen[other])) > 1, (one, other)
    assert max(seen, key=lambda name: seen[name][0]) == "level-10-pale"


def _mean(file: Path) -> tuple[float, float, float]:
    """Return L*, a*, b* of the middle of the head as it is now."""
    picture = Image.open(file).convert("RGB")
    left, top, right, bottom = (
        round(share * size) for share, size in zip(HEAD, picture.size * 2, strict=True)
    )
    pixels = np.asarray(picture.crop((left, top, right, bottom)), dtype=float) / 255
    light = np.where(pixels <= 0.04045, pixels / 12.92, ((pixels + 0.055) / 1.055) ** 2.4)
    return linear_to_lab(tuple(light.reshape(-1, 3).mean(axis=0)))
