"""Motion blur by its moments, and resolution by block means: numpy, scipy and closed form."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy import ndimage

from gen.render import motion, resolution
from tests.render import tolerances as tol
from tests.render.measures import Real, centroids, covariances, ink
from tests.render.support import blobs, dot, images_of, raster, rendered

PICTURES = blobs(200)
SMALL = raster(np.pad(blobs(200, (20, 20)).images, ((0, 0), (20, 20), (20, 20))))
WEIGHT_ROUNDING = 2e-3
"""Weights are rounded to 2**-16, and a px**2 at 30 px from the middle counts 900-fold."""


def moments(length_px: float, way: tuple[float, float]) -> Real:
    """Second moments (yy, yx, xx) of the weights themselves, by plain sums."""
    dy, dx, weight = np.array(motion.smear(length_px, way), dtype=float).T
    assert weight.sum() == 2**16
    assert (weight > 0).all()
    return np.array([(a * b * weight).sum() for a, b in ((dy, dy), (dy, dx), (dx, dx))]) / 2**16


def unit(angle_deg: float) -> tuple[float, float]:
    return -np.sin(np.deg2rad(angle_deg)), np.cos(np.deg2rad(angle_deg))


@pytest.mark.parametrize("length", [0.25, 0.5, 1, 1.5, 2, np.sqrt(8), 3, 4.7, 9, 20, 64])
def test_along_an_axis_the_variance_is_length_squared_over_twelve(length: float) -> None:
    yy, yx, xx = moments(length, (0.0, 1.0))
    assert (yy, yx) == (0, 0)
    assert_allclose(xx, length**2 / 12, rtol=5e-4, atol=2e-5)
    assert tuple(moments(length, (1.0, 0.0))) == (xx, 0, 0)


@pytest.mark.parametrize("angle", [10.0, 30.0, 45.0, 60.0, 120.0, 135.0, 170.0, 225.0])
@pytest.mark.parametrize("length", [1.0, 3.0, 7.5, 20.0])
def test_along_any_line_the_smear_lies_on_that_line(length: float, angle: float) -> None:
    down, right = way = unit(angle)
    yy, yx, xx = moments(length, way)
    variance = length**2 / 12
    steep = abs(down) > abs(right)
    near, far = (yy, xx) if steep else (xx, yy)
    assert_allclose(near, variance * max(down**2, right**2), rtol=1e-3, atol=WEIGHT_ROUNDING)
    assert_allclose(yx, variance * down * right, rtol=1e-3, atol=WEIGHT_ROUNDING)
    added = far - variance * min(down**2, right**2)
    assert -WEIGHT_ROUNDING < added < 0.25
    if abs(abs(down) - abs(right)) < 1e-9:
        assert added < WEIGHT_ROUNDING


@pytest.mark.parametrize("length", [2.0, 3.0, 5.5, 10.0])
@pytest.mark.parametrize(("along", "axis"), [("x", 1), ("y", 0)])
def test_marks_are_smeared_by_what_was_asked_and_nothing_else_changes(
    along: str, axis: int, length: float
) -> None:
    seen = images_of(SMALL, "motion-blur", length, along=along)
    added = covariances(seen) - covariances(SMALL.images)
    asked = length**2 / 12
    assert_allclose(np.sqrt(added[:, axis, axis].mean()), np.sqrt(asked), rtol=tol.BLUR_SHARE)
    assert np.abs(added[:, 1 - axis, 1 - axis]).mean() < 0.01
    assert np.abs(added[:, 0, 1]).mean() < 0.01
    assert np.abs(centroids(seen) - centroids(SMALL.images)).mean() < tol.CENTROID_PX
    assert np.abs(ink(seen) / ink(SMALL.images) - 1).mean() < 0.002


@pytest.mark.parametrize("side", [3, 5, 9])
def test_an_odd_number_of_whole_px_is_the_moving_average_of_scipy(side: int) -> None:
    """A mean of k pixels has the variance (k**2 - 1) / 12: that of a length root(k**2 - 1)."""
    seen = images_of(PICTURES, "motion-blur", float(np.sqrt(side**2 - 1)), along="x")
    mean = ndimage.uniform_filter1d(
        PICTURES.images.astype(float), side, axis=2, mode="constant", cval=0.0
    )
    assert_allclose(seen, mean, rtol=0, atol=tol.GREY / 2 + 0.01)


def test_a_smear_up_to_the_right_goes_that_way() -> None:
    seen = images_of(dot(4, 4), "motion-blur", 6.0, along=45.0)[0]
    assert seen[3, 5] == seen[5, 3] > 0
    assert seen[3, 3] == seen[5, 5] == 0


def test_what_is_smeared_out_of_the_frame_is_counted() -> None:
    # Whole squares of 8 px are rounded alike, so faint ones do not even out.
    for name, level, rounding in (("motion-blur", 20.0, 0.004), ("resolution", 0.13, 0.012)):
        seen = rendered(PICTURES, name, level)
        expected = 1 - ink(seen.images) / ink(PICTURES.images)
        assert_allclose(seen.ink_lost, expected, rtol=0, atol=rounding)
        assert np.abs(seen.ink_lost - expected).mean() < rounding / 2
        assert seen.ink_lost.mean() > rounding / 2


@pytest.mark.parametrize("block", [2, 4, 7, 14])
def test_a_whole_share_of_the_pixels_is_the_mean_of_blocks(block: int) -> None:
    seen = images_of(PICTURES, "resolution", 1 / block)
    blocks = PICTURES.images.reshape(-1, 28 // block, block, 28 // block, block).mean(axis=(2, 4))
    assert_allclose(
        seen, np.kron(blocks, np.ones((1, block, block))), rtol=0, atol=tol.GREY / 2 + 0.01
    )


@pytest.mark.parametrize("ratio", [0.9, 0.7, 0.55, 0.3])
def test_any_share_is_that_of_areas_in_fine_points(ratio: float) -> None:
    """The oracle: every pixel as 40 points a side; coarse pixels average them, and back."""
    fine, few = 40, PICTURES.images[:10].astype(float)
    place = (np.arange(28 * fine) + 0.5) / fine - 14.0
    cell = np.floor(place * ratio + np.ceil(28 * ratio - 1e-9) / 2).astype(int)
    coarse = (cell[:, None] == np.arange(cell.max() + 1)).astype(float)
    up = coarse.reshape(28, fine, -1).mean(axis=1)
    line = up @ (up.T * ratio)
    oracle = np.einsum("ij,njk,lk->nil", line, few, line)
    seen = images_of(raster(PICTURES.images[:10]), "resolution", ratio)
    assert np.abs(seen - oracle).max() < 8  # a border between cells lies between two points
    assert np.abs(seen - oracle).mean() < tol.GREY / 2


@pytest.mark.parametrize("ratio", [0.5, 0.25, 0.8, 0.35])
def test_fewer_pixels_spread_ink_and_neither_move_nor_lose_it(ratio: float) -> None:
    seen = images_of(SMALL, "resolution", ratio)
    assert np.abs(ink(seen) / ink(SMALL.images) - 1).mean() < 0.01
    added = covariances(seen) - covariances(SMALL.images)
    # Two averages over a square of side 1 / ratio: what one adds is its variance. Where the
    # grid meets small marks, and its squares the pixels, counts for up to half a px**2 more.
    assert 0 < added[:, [0, 1], [0, 1]].mean() < 2 / ratio**2 / 12 + 0.5


def test_flat_grey_stays_flat_grey() -> None:
    even = raster(np.full((1, 28, 28), 90, np.uint8))
    for ratio in (0.5, 0.25, 1.0):
        assert (images_of(even, "resolution", ratio) == 90).all()
    assert (resolution.line(28, 0.6).sum(axis=1)[5:-5] == 2**20).all()
