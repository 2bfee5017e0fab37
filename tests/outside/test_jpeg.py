"""Compression held to the codecs that other people wrote: Pillow's and OpenCV's."""

from __future__ import annotations

import io

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image
from scipy.fft import dctn

from gen.perturb.jpeg import Compressed, cosines, quantisation
from tests.render.support import blobs

# 29 x 35 px: neither side is a whole number of blocks.
PICTURES = np.concatenate([blobs(6, (29, 35), seed=s).images for s in range(5)])
QUALITIES = [5, 20, 49, 50, 75, 90, 95]
GREY = np.random.default_rng(0).integers(90, 154, (30, 32, 32)).astype(np.uint8)
"""Rough, so that every coefficient counts, and grey, so that nothing is clipped."""
CODEC_MEAN = 0.5
"""Grey levels: a coefficient nearly half way between two steps may fall to either side, and
then its block differs by a wave."""
ROUNDED = 1 / 8 + 0.02
"""Codecs round coefficients to eighths, in two passes, before they quantise."""


def by_pillow(image: NDArray[np.uint8], quality: int) -> NDArray[np.uint8]:
    told = io.BytesIO()
    Image.fromarray(image).save(told, "JPEG", quality=quality)
    return np.array(Image.open(told))


def by_opencv(image: NDArray[np.uint8], quality: int) -> NDArray[np.uint8]:
    _, told = cv2.imencode(".jpg", image, [cv2.IMWRITE_JPEG_QUALITY, quality])
    return np.asarray(cv2.imdecode(told, cv2.IMREAD_GRAYSCALE))


@pytest.mark.parametrize("quality", QUALITIES)
@pytest.mark.parametrize("codec", [by_pillow, by_opencv])
def test_a_codec_gives_the_same_within_a_few_grey_levels(codec: object, quality: int) -> None:
    assert callable(codec)
    theirs = np.stack([codec(image, quality) for image in PICTURES])
    off = np.abs(Compressed(quality).apply(PICTURES).astype(int) - theirs)
    assert off.mean() < CODEC_MEAN
    assert (off <= 2).mean() > 0.95


def spectra(images: NDArray[np.uint8]) -> NDArray[np.float64]:
    """Coefficients of each block by scipy, (n, 4, 4, 8, 8)."""
    blocks = images.reshape(-1, 4, 8, 4, 8).transpose(0, 1, 3, 2, 4)
    return np.asarray(dctn(blocks.astype(float) - 128, axes=(3, 4), norm="ortho"))


# From 90 on steps are so small that the rounding of pixels hides which one was taken.
@pytest.mark.parametrize("quality", [5, 20, 49, 50, 75])
@pytest.mark.parametrize("codec", [by_pillow, by_opencv])
def test_steps_are_those_of_the_codec_but_for_near_ties(codec: object, quality: int) -> None:
    assert callable(codec)
    steps = quantisation(quality)
    theirs = np.rint(spectra(np.stack([codec(image, quality) for image in GREY])) / steps)
    ours = np.rint(spectra(Compressed(quality).apply(GREY)) / steps)
    exact = spectra(GREY) / steps
    differ = ours != theirs
    assert differ.mean() < 0.05
    assert np.abs(ours - theirs).max(initial=0) <= 1
    from_a_tie = np.abs(np.abs(exact - np.floor(exact)) - 0.5) * steps
    assert from_a_tie[differ].max(initial=0) < ROUNDED


def test_the_comparison_with_a_codec_can_fail() -> None:
    theirs = np.stack([by_pillow(image, 50) for image in GREY])
    assert np.abs(Compressed(40).apply(GREY).astype(int) - theirs).mean() > CODEC_MEAN


@pytest.mark.parametrize("quality", QUALITIES)
def test_the_table_is_the_one_that_pillow_writes(quality: int) -> None:
    told = io.BytesIO()
    Image.fromarray(PICTURES[0]).save(told, "JPEG", quality=quality)
    opened = Image.open(told)
    assert opened.quantization[0] == quantisation(quality).ravel().astype(int).tolist()  # type: ignore[attr-defined]


def test_the_transform_is_the_orthonormal_cosine_transform_of_scipy() -> None:
    block = np.random.default_rng(0).integers(-128, 128, (8, 8)).astype(float)
    ours = cosines() @ block @ cosines().T / 2.0**36
    # Each cosine is off by at most 2**-19, and a coefficient sums 64 products of up to 128.
    np.testing.assert_allclose(ours, dctn(block, norm="ortho"), rtol=0, atol=0.02)
