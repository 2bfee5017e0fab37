"""Known ways to get rendering wrong, each asked for by name.

The measured failures of common libraries that these guard against: coordinates that
snap to 1/32 px, edges that darken, boxes that lose their aspect.
"""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from tests.render.measures import centroids
from tests.render.support import blobs, capsule, images_of, raster, rendered

EIGHT_BITS_PX = 0.002
"""A hundredth of a px off a full edge is 2.55 grey levels, and is rounded to 3."""


@pytest.mark.parametrize("shift", [0.01, 0.33, 1 / 3])
def test_a_shift_is_not_snapped_to_a_fraction_of_a_px(shift: float) -> None:
    """With coordinates in 32nds of a px, 0.01 is no move at all and 0.33 is 0.34375."""
    glyphs = blobs(200)
    moved = images_of(glyphs, "translation", shift)
    seen = (centroids(moved) - centroids(glyphs.images))[:, 1]
    assert abs(seen.mean() - shift) < EIGHT_BITS_PX


@pytest.mark.parametrize(
    ("name", "level"),
    [("rotation", 30.0), ("rotation", 45.0), ("scale", 1.3), ("slant", 20.0), ("translation", 0.5)],
)
def test_full_ink_stays_full_and_bare_paper_bare(name: str, level: float) -> None:
    """Weights of one new pixel add up to the whole: nothing ripples inside, nothing clips."""
    square = np.zeros((1, 41, 41), np.uint8)
    square[0, 10:31, 10:31] = 255
    seen = images_of(raster(square), name, level)[0]
    assert (seen[17:24, 17:24] == 255).all()
    assert (seen[0] == 0).all() and (seen[-1] == 0).all()


def test_an_even_grey_frame_stays_even_away_from_the_border() -> None:
    grey = raster(np.full((1, 41, 41), 93, np.uint8))
    for name, level in (("rotation", 17.0), ("scale", 1.7), ("blur", 1.5)):
        assert (images_of(grey, name, level)[0, 12:29, 12:29] == 93).all(), name


@pytest.mark.parametrize("kind", ["strokes", "picture"])
def test_fitting_a_box_keeps_the_aspect(kind: str) -> None:
    """A slanted 1 fitted to a square box must not become a diagonal."""
    one = capsule((8.0, 18.0), (32.0, 22.0), 3.0, (41, 41))
    glyphs = one if kind == "strokes" else raster(rendered(one, "translation", 0.0).images)
    fitted = images_of(glyphs, "placement", "box centred", box_px=20.0)[0]
    before = rendered(one, "translation", 0.0).images[0]
    sizes = [np.ptp(np.argwhere(image > 127), axis=0) + 1 for image in (before, fitted)]
    assert sizes[1][0] == pytest.approx(20, abs=1)
    assert_allclose(sizes[1][1] / sizes[1][0], sizes[0][1] / sizes[0][0], rtol=0, atol=0.06)
