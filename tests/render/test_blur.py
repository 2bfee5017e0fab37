"""Blur against the published definition, computed by scipy, and against its moments."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy import ndimage, special

from gen.render.blur import BITS, weights
from tests.render import tolerances as tol
from tests.render.measures import centroids, covariances, ink
from tests.render.support import blobs, dot, images_of, rendered

LARGE = blobs(60, (64, 64))
SIGMAS = [0.3, 0.5, 0.7, 1.0, 1.5, 2.5]


@pytest.mark.parametrize("sigma", [0.3, 0.7, 1.5, 4.0, 16.0])
def test_weights_are_the_discrete_analogue_of_the_gaussian(sigma: float) -> None:
    """T(n, t) = exp(-t) I_n(t), t = sigma**2: Lindeberg 1990; scipy.special.ive is exp(-t) I_n."""
    ours = np.array(weights(sigma)) / 2**BITS
    theirs = special.ive(np.arange(len(ours)), sigma**2)
    # Half a step of rounding; the middle takes what rounding of all the others left over.
    assert_allclose(ours[1:], theirs[1:], rtol=0, atol=0.5 / 2**BITS)
    assert_allclose(ours[0], theirs[0], rtol=0, atol=len(ours) / 2**BITS)


@pytest.mark.parametrize("sigma", SIGMAS)
def test_blur_agrees_with_scipys_convolution(sigma: float) -> None:
    kernel = np.array(weights(sigma), dtype=float)
    kernel = np.concatenate([kernel[:0:-1], kernel]) / 2**BITS
    oracle = LARGE.images.astype(float)
    for axis in (1, 2):
        oracle = ndimage.convolve1d(oracle, kernel, axis=axis, mode="constant")
    assert_allclose(images_of(LARGE, "blur", sigma), oracle, rtol=0, atol=tol.GREY)


@pytest.mark.parametrize("sigma", [0.5, 0.7, 1.0, 1.5, 2.5])
def test_the_second_moment_grows_by_sigma_squared(sigma: float) -> None:
    added = covariances(images_of(LARGE, "blur", sigma)) - covariances(LARGE.images)
    variance = np.trace(added, axis1=1, axis2=2) / 2
    assert np.abs(np.sqrt(variance) - sigma).mean() < tol.BLUR_SHARE * sigma


@pytest.mark.parametrize("sigma", [3.0, 4.0])
def test_a_wide_blur_does_too_where_the_frame_is_wide_enough(sigma: float) -> None:
    """The weights' own variance; 8-bit pixels round the far tails to bare paper."""
    reach = np.array(weights(sigma), dtype=float)
    variance = 2 * (reach * np.arange(len(reach)) ** 2).sum() / 2**BITS
    assert_allclose(np.sqrt(variance), sigma, rtol=1e-3)


def test_two_blurs_in_a_row_add_up_as_variances_do() -> None:
    twice = np.convolve(np.array(_both_sides(1.2)), np.array(_both_sides(0.9)))
    once = np.array(_both_sides(1.5))
    middle = len(twice) // 2 - len(once) // 2
    assert_allclose(twice[middle : middle + len(once)], once, rtol=0, atol=3e-6)


def test_blur_moves_no_centroid_and_loses_no_ink_inside_the_frame() -> None:
    seen = rendered(LARGE, "blur", 1.5)
    assert np.abs(centroids(seen.images) - centroids(LARGE.images)).mean() < tol.CENTROID_PX
    off = np.abs(ink(seen.images) - ink(LARGE.images)) / LARGE.frame[0]
    assert off.mean() < tol.INK_PER_ROW
    assert seen.ink_lost.max() < 1e-4


def test_ink_spread_past_the_border_is_lost_counted_and_not_reflected() -> None:
    """A reflecting border would keep all of it, or pile it up in the edge column."""
    edge = dot(14, 0, (28, 28))
    seen = rendered(edge, "blur", 2.0)
    expected = 1 - special.ive(np.arange(0, 40), 4.0).sum()
    assert seen.ink_lost[0] == pytest.approx(expected, abs=1e-4)
    assert (
        seen.images[0, 14, 0] < rendered(dot(14, 14, (28, 28)), "blur", 2.0).images[0, 14, 14] + 1
    )


def _both_sides(sigma: float) -> list[float]:
    one = [each / 2**BITS for each in weights(sigma)]
    return one[:0:-1] + one
