"""Where drawings sit on the model's curves, and what training would have to vary."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from gen.diagnose.differences import differences
from gen.diagnose.measures import measure
from gen.diagnose.operations import Operation, carry_out
from gen.diagnose.results import Expected
from gen.diagnose.sitting import expected, variations
from gen.evaluate.intervals import proportions
from gen.evaluate.model import wrap_model
from gen.glyphs.base import Pixels

LABELS = np.arange(60) % 2
SEEN = proportions(50, 100)[0]
NEAR_PX, NEAR_RATIO = 0.3, 0.08  # measures of bars with whole px between rendered ones


def bars() -> Pixels:
    """Class 0 stands left of the middle, class 1 right of it; three px of scatter."""
    images = np.zeros((60, 28, 28), np.uint8)
    for place, label in enumerate(LABELS):
        left = 7 + 8 * label + place // 2 % 3
        images[place, 8:20, left : left + 3] = 255
    return images


def told_of(images: Pixels) -> dict[str, Expected]:
    """What is expected of a reader that goes by the side on which a bar stands."""

    def side(x: Any) -> Any:
        ink = x.sum(axis=1)
        return ((ink * np.arange(28)).sum(axis=1) / np.maximum(ink.sum(axis=1), 1e-9) > 13.5) * 1

    model = wrap_model(side)
    model.first_look(bars(), LABELS, ("left", "right"))
    found = differences(measure(images), measure(bars()))
    return {one.title: one for one in expected(model, found, bars(), LABELS, SEEN)}


def test_the_costliest_difference_comes_first_at_the_level_where_the_drawings_sit() -> None:
    told = told_of(np.roll(bars(), (5, 6), axis=(1, 2)))
    assert list(told)[:2] == ["translation along x", "translation along y"]
    across, down = told["translation along x"], told["translation along y"]
    assert across.level == pytest.approx(6, abs=NEAR_PX)
    assert down.level == pytest.approx(5, abs=NEAR_PX)
    assert across.predicted.value == pytest.approx(0.5, abs=0.1), "all bars stand on the right"
    assert down.predicted.value == 1.0
    assert across.seen == SEEN


@pytest.mark.parametrize("ratio", [0.6, 1.5])
def test_size_is_a_ratio_of_the_drawings_over_the_training_pictures(ratio: float) -> None:
    sized = carry_out(bars(), (Operation("scale", ratio, "ratio", (("about", "frame"),)),))
    (size,) = (one for one in told_of(sized).values() if one.perturbation == "scale")
    assert size.level == pytest.approx(ratio, abs=NEAR_RATIO)


def test_blurs_add_as_squares_and_nothing_is_sharper_than_it_was() -> None:
    soft = carry_out(bars(), (Operation("blur", 1.0, "px"),))
    (blur,) = (one for one in told_of(soft).values() if one.perturbation == "blur")
    assert blur.level == pytest.approx(1.0, abs=0.2)  # as far as the edges tell
    assert "blur" not in {one.perturbation for one in told_of(bars()).values()}


@pytest.mark.parametrize("moved", [6, -6])
def test_a_variation_goes_from_nominal_to_where_the_drawings_sit(moved: int) -> None:
    here, there = measure(np.roll(bars(), moved, axis=1)), measure(bars())
    costs = Expected(
        "translation along y", "px", float(moved), proportions(50, 100)[0], SEEN, "translation"
    )
    costs_little = Expected(
        "stroke width", "px", 0.4, proportions(88, 100)[0], SEEN, "stroke-width"
    )
    (one,) = variations((costs, costs_little), here, there, nominal=0.9)
    assert (one.title, one.low, one.high) == (costs.title, min(0.0, moved), max(0.0, moved))
    assert one.loss == pytest.approx(0.4)


def test_a_variation_holds_the_middle_nine_tenths_of_the_drawings() -> None:
    here, there = measure(np.roll(bars(), 6, axis=2)), measure(bars())
    spread = np.subtract(
        here.quantiles("centroid_dx_px", (5, 95)), there.quantiles("centroid_dx_px", (50,))
    )
    costs = Expected("translation along x", "px", 6.0, proportions(50, 100)[0], SEEN, "translation")
    (one,) = variations((costs,), here, there, nominal=0.9)
    assert one.low <= min(0.0, spread[0])
    assert one.high == pytest.approx(max(6.0, spread[1]), rel=0.05)  # told with two digits
