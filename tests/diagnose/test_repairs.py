"""Repairs that no perturbation could make, each of a fault planted by other arithmetic."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import ndimage

from gen.diagnose.operations import Operation, carry_out
from gen.glyphs.base import Pixels
from tests.diagnose.planted import clean, over_paper, ruled, sheared

BYTE = 1.0  # grey levels: of one rounding
LOST = 0.6  # of a smear of 7 px: what no filter brings back, for it wiped it out altogether
UNDER_A_LINE = 0.2  # of a grey line: the soft edges that were fainter than it


def few(count: int = 20) -> Pixels:
    return clean().images[:count]


def off(one: Pixels, other: Pixels) -> float:
    return float(np.abs(one.astype(int) - other).mean())


def repaired(images: Pixels, name: str, amount: float, **options: str) -> Pixels:
    return carry_out(images, (Operation(name, amount, "px", tuple(options.items())),))


def smeared(images: Pixels, length_px: float, angle_deg: float) -> Pixels:
    """The mean of pictures moved along a line, anticlockwise from x, by scipy's spline."""
    angle = np.deg2rad(angle_deg)
    places = np.linspace(-length_px / 2, length_px / 2, 41)
    moved = [
        ndimage.shift(images.astype(float), (0, -far * np.sin(angle), far * np.cos(angle)), order=1)
        for far in places
    ]
    return np.clip(np.rint(np.mean(moved, axis=0)), 0, 255).astype(np.uint8)


@pytest.mark.parametrize(("along", "angle"), [("x", 0), ("y", 90), ("30", 30), ("150", 150)])
def test_a_smear_is_undone_along_its_line_and_not_across_it(along: str, angle: float) -> None:
    images = few()
    soft = smeared(images, 7, angle)
    back = repaired(soft, "motion sharpening", 7.0, along=along)
    ways = ("x", "30", "60", "y", "120", "150")
    other = ways[(ways.index(along) + 3) % 6]
    across = repaired(soft, "motion sharpening", 7.0, along=other)
    assert off(back, images) < LOST * off(soft, images)
    assert off(across, images) > off(soft, images) > off(back, images)


def test_ruled_lines_are_taken_away_and_marks_stay() -> None:
    images = few()
    back = repaired(ruled(images), "line removal", 1.0)
    assert off(back, images) < UNDER_A_LINE * off(ruled(images), images)
    assert off(repaired(images, "line removal", 1.0), images) < BYTE


def test_a_line_as_dark_as_ink_is_filled_from_the_rows_beside_it() -> None:
    images = np.zeros((1, 28, 28), np.uint8)
    images[0, 4:24, 12:15] = 240
    lined = images.copy()
    lined[:, [0, 16, 17]] = 255
    lined[:, :, 27] = 255
    back = repaired(lined, "line removal", 1.0)
    assert off(back, images) < BYTE


def test_what_lies_on_grey_paper_between_lines_keeps_its_paper() -> None:
    """Lines are taken away, and not the paper: that is another repair."""
    grey = np.rint(over_paper(few(), 90)).astype(np.uint8)
    back = repaired(grey, "line removal", 1.0)
    assert abs(int(np.median(back)) - 90) <= BYTE


@pytest.mark.parametrize("longer", [1, 4])
def test_rows_that_are_stored_longer_are_read_again_as_they_are_stored(longer: int) -> None:
    images = few()
    stored = np.pad(images, ((0, 0), (0, 0), (0, longer))).reshape(len(images), -1)
    wrong = np.ascontiguousarray(stored[:, : 28 * 28]).reshape(images.shape)
    back = repaired(wrong, "row length", float(longer))
    whole = 28 * 28 // (28 + longer)  # the last rows were never read
    assert (back[:, :whole] == images[:, :whole]).all()


def test_rows_that_are_stored_shorter_leave_bare_paper_at_their_end() -> None:
    narrow = few()[:, :, 2:26]
    wrong = np.zeros((len(narrow), 28 * 28), np.uint8)
    wrong[:, : 24 * 28] = narrow.reshape(len(narrow), -1)
    back = repaired(wrong.reshape(-1, 28, 28), "row length", -4.0)
    assert (back[:, :, :24] == narrow).all()
    assert not back[:, :, 24:].any()


@pytest.mark.parametrize("step", [-3, 1, 2])
def test_rows_that_lie_further_on_each_are_rolled_back(step: int) -> None:
    images = few()
    assert (repaired(sheared(images, step), "row shear", -float(step)) == images).all()
