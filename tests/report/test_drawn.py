"""Pictures in characters, held to pictures whose characters follow from how they are made."""

from __future__ import annotations

import numpy as np
import pytest

from gen.glyphs.base import Pixels
from gen.report.drawn import FAINT, INKED, LOWER, SHADES, UPPER, WHOLE, drawn


def picture(*rows: str) -> Pixels:
    """Full ink where there is an x."""
    return np.array([[255 * (c == "x") for c in row] for row in rows], np.uint8)


def test_each_half_of_a_character_is_one_pixel() -> None:
    assert drawn(picture("x.x.", "..xx"), 40) == [f"{UPPER} {WHOLE}{LOWER}"]


def test_shades_stand_for_the_mean_of_two_pixels() -> None:
    assert drawn(picture("x.x.", "..xx"), 40, blocks=False) == ["= #="]


@pytest.mark.parametrize("step", range(8))
def test_each_eighth_of_ink_has_its_shade(step: int) -> None:
    image = np.full((2, 1), round((step + 0.5) * 255 / 8), np.uint8)
    assert drawn(image, 40, blocks=False) == [SHADES[step]]


def test_faint_ink_is_seen_and_bare_paper_is_empty() -> None:
    image = np.array([[0, INKED - 1, INKED]] * 2, np.uint8)
    assert drawn(image, 40) == [f" {FAINT}{WHOLE}"]


@pytest.mark.parametrize("blocks", [True, False])
@pytest.mark.parametrize("width", [1, 7, 19, 28, 60])
@pytest.mark.parametrize(
    "shape", [(28, 28), (8, 8), (27, 31), (64, 20), (20, 64), (1, 1), (3, 200)]
)
def test_it_fits_and_its_lines_are_equally_long(
    shape: tuple[int, int], width: int, blocks: bool
) -> None:
    image = np.random.default_rng(0).integers(0, 256, shape, dtype=np.uint8)
    lines = drawn(image, width, blocks)
    assert len({len(line) for line in lines}) == 1
    assert 1 <= len(lines[0]) <= min(width, shape[1])
    assert 1 <= len(lines) <= max(1, (width + 1) // 2)


def test_a_picture_that_fits_is_not_averaged() -> None:
    image = np.random.default_rng(1).integers(0, 2, (28, 28)).astype(np.uint8) * 255
    upper = np.array([[c in (UPPER, WHOLE) for c in line] for line in drawn(image, 28)])
    lower = np.array([[c in (LOWER, WHOLE) for c in line] for line in drawn(image, 28)])
    assert np.array_equal(upper, image[::2] == 255)
    assert np.array_equal(lower, image[1::2] == 255)


def test_half_as_wide_is_the_mean_of_four_pixels() -> None:
    # By hand: of the pixels that each new one covers, 4 and 0 are inked above, 2 and 2 below.
    # On the left that is full and half ink, 6 of 8 together; on the right none and half, 2 of 8.
    image = picture("xx..", "xx..", "xx..", "..xx")
    assert drawn(image, 2) == [f"{UPPER}{FAINT}"]
    assert drawn(image, 2, blocks=False) == [SHADES[6] + SHADES[2]]


def test_a_thin_stroke_is_never_lost_between_samples() -> None:
    for place in range(60):
        image = np.zeros((60, 60), np.uint8)
        image[:, place] = 255
        assert any(line.strip() for line in drawn(image, 20))
        assert any(line.strip() for line in drawn(image, 20, blocks=False))


def test_no_room_and_no_picture_are_refused() -> None:
    with pytest.raises(ValueError, match="can't draw 4 x 4 px in 0 columns"):
        drawn(np.zeros((4, 4), np.uint8), 0)
    with pytest.raises(ValueError, match="can't draw 0 x 4 px"):
        drawn(np.zeros((0, 4), np.uint8), 10)
