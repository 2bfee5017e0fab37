"""What programs do to files: bits, turns and compression."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from gen.core.errors import LevelError
from gen.recipe.model import Recipe
from gen.render.plan import make_plan
from tests.render.support import blobs, images_of, raster, sweep

PICTURES = blobs(60)
EVERY_LEVEL = raster(np.arange(256, dtype=np.uint8).reshape(1, 16, 16))


@pytest.mark.parametrize("bits", [1, 2, 3, 5, 7])
def test_so_many_bits_give_so_many_levels_evenly_spaced(bits: int) -> None:
    seen = np.unique(images_of(EVERY_LEVEL, "bit-depth", float(bits)))
    assert len(seen) == 2**bits
    assert_allclose(seen, np.linspace(0, 255, 2**bits), rtol=0, atol=0.5)


@pytest.mark.parametrize("bits", [1, 2, 4, 6])
def test_each_level_goes_to_the_nearest_that_is_left(bits: int) -> None:
    seen = images_of(EVERY_LEVEL, "bit-depth", float(bits)).astype(float)
    off = np.abs(seen - EVERY_LEVEL.images)
    assert off.max() <= 255 / (2**bits - 1) / 2 + 0.5
    # An even spread of errors over a step of q has the variance q**2 / 12.
    if bits > 1:
        step = 255 / (2**bits - 1)
        assert_allclose((seen - EVERY_LEVEL.images).var(), step**2 / 12, rtol=0.12)


def test_one_bit_is_a_threshold_at_the_middle() -> None:
    seen = images_of(EVERY_LEVEL, "bit-depth", 1.0).ravel()
    assert np.array_equal(seen, np.where(np.arange(256) >= 128, 255, 0))


@pytest.mark.parametrize("quarters", [1, 2, 3])
def test_quarter_turns_equal_numpy_rot90(quarters: int) -> None:
    seen = images_of(PICTURES, "quarter-turns", float(quarters))
    assert np.array_equal(seen, np.rot90(PICTURES.images, quarters, axes=(1, 2)))


def test_a_half_turn_is_fine_in_any_frame_and_a_quarter_is_not() -> None:
    oblong = blobs(3, (28, 20))
    seen = images_of(oblong, "quarter-turns", 2.0)
    assert np.array_equal(seen, oblong.images[:, ::-1, ::-1])
    with pytest.raises(LevelError, match=r"square frame[\s\S]*0 or 2 quarters"):
        make_plan(Recipe("", "", 0, (sweep("quarter-turns", [1.0]),)), (28, 20))


def test_flat_blocks_come_back_within_half_a_step_of_the_table() -> None:
    """A flat block has one coefficient, 8 times its level, kept to whole steps: 16 / 8 = 2."""
    flat = raster(np.repeat(np.arange(0, 256, 5, dtype=np.uint8), 64).reshape(-1, 8, 8))
    seen = images_of(flat, "jpeg", 50.0)
    assert (seen == seen[:, :1, :1]).all()
    assert np.abs(seen.astype(int) - flat.images).max() == 1


def test_compression_loses_more_the_lower_the_quality() -> None:
    off = [
        np.square(images_of(PICTURES, "jpeg", q).astype(float) - PICTURES.images).mean()
        for q in (95.0, 75.0, 50.0, 20.0, 5.0)
    ]
    assert off == sorted(off)
    assert off[0] < 4 < off[-1]


def test_compression_keeps_the_mean_to_half_a_step() -> None:
    """The mean of a block is kept to whole steps of 16 / 8; on grey nothing is clipped."""
    grey = raster(blobs(20, (32, 32)).images // 3 + 80)
    seen = images_of(grey, "jpeg", 50.0).astype(float) - grey.images
    blocks = seen.reshape(-1, 4, 8, 4, 8).mean(axis=(2, 4))
    assert np.abs(blocks).max() < 1 + 0.1  # and the rounding of 64 pixels, on average
