"""Wider and narrower strokes: on strokes in closed form, on pictures within stated bounds."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from gen.glyphs.base import RasterGlyphs, Strokes
from gen.glyphs.width import stroke_width_px
from gen.render.coverage import draw
from tests.render import tolerances as tol
from tests.render.measures import angles_deg, centroids
from tests.render.support import Drawn, blobs, images_of, raster

FRAME = (48, 48)
LENGTH = 16.0
RNG = np.random.default_rng(7)
ANGLES = np.linspace(0, np.pi, 200, endpoint=False)
MIDDLES = 23.5 + RNG.random((200, 2)) - 0.5


def bars(width_px: float) -> Drawn:
    half = np.stack([np.sin(ANGLES), np.cos(ANGLES)], axis=1) * LENGTH / 2
    segments = np.stack([MIDDLES - half, MIDDLES + half], axis=1)[:, None]
    return Drawn(Strokes(segments, np.full((200, 1), width_px)), FRAME)


def as_pictures(glyphs: Drawn) -> RasterGlyphs:
    return raster(draw(glyphs.strokes(np.arange(len(glyphs))), FRAME))


def widths(images: np.ndarray) -> np.ndarray:
    """Width of a bar with round ends from its area: A = w L + pi w**2 / 4."""
    area = images.sum(axis=(1, 2)) / 255
    return 2 / np.pi * (np.sqrt(LENGTH**2 + np.pi * area) - LENGTH)


@pytest.mark.parametrize("added", [-1.0, -0.5, 0.3, 1.0, 2.5])
def test_strokes_get_the_pen_that_was_asked_for(added: float) -> None:
    seen = widths(images_of(bars(3.0), "stroke-width", added))
    assert np.abs(seen - 3.0 - added).mean() < tol.STROKE_PX


@pytest.mark.parametrize("ratio", [0.5, 0.8, 1.5])
def test_strokes_get_the_share_of_their_pen_that_was_asked_for(ratio: float) -> None:
    seen = widths(images_of(bars(3.0), "stroke-width", ratio, unit="ratio"))
    assert np.abs(seen - 3.0 * ratio).mean() < tol.STROKE_PX


@pytest.mark.parametrize("width_px", [2.0, 3.0, 4.5, 6.0])
@pytest.mark.parametrize("added", [-0.5, 0.25, 0.5, 1.0, 2.0])
def test_pictures_are_widened_by_what_was_asked(width_px: float, added: float) -> None:
    before = as_pictures(bars(width_px))
    seen = widths(images_of(before, "stroke-width", added)) - widths(before.images)
    thin = added < 0 and width_px < 3
    bound = tol.RASTER_NARROWED_THIN_PX if thin else tol.RASTER_STROKE_PX
    assert np.abs(seen - added).mean() < bound


def test_widening_and_narrowing_of_a_wide_stroke_come_back() -> None:
    before = as_pictures(bars(5.0))
    wider = raster(images_of(before, "stroke-width", 1.0))
    back = images_of(wider, "stroke-width", -1.0)
    assert np.abs(widths(back) - widths(before.images)).mean() < tol.RASTER_STROKE_PX


@pytest.mark.parametrize("added", [-0.5, 1.0])
def test_nothing_else_changes(added: float) -> None:
    before = as_pictures(bars(3.0))
    after = images_of(before, "stroke-width", added)
    assert np.abs(centroids(after) - centroids(before.images)).mean() < tol.CENTROID_PX
    turned = (angles_deg(after) - angles_deg(before.images) + 90) % 180 - 90
    assert np.abs(turned).mean() < tol.ANGLE_DEG


@pytest.mark.parametrize("width_px", [2.0, 3.0, 4.0, 5.0])
def test_the_measured_width_of_a_bar_is_its_width(width_px: float) -> None:
    """Round ends count in: ink is w L + pi w**2 / 4, its growth L + pi (w + 1/2) / 2 a px."""
    seen = stroke_width_px(as_pictures(bars(width_px)).images)
    ends = np.pi * width_px**2 / 4
    expected = (width_px * LENGTH + ends) / (LENGTH + np.pi * (width_px + 0.5) / 2)
    assert_allclose(seen.mean(), expected, rtol=0, atol=0.05)


def test_grey_levels_of_a_pale_stroke_are_kept() -> None:
    pale = raster((blobs(20).images // 2).astype(np.uint8))
    after = images_of(pale, "stroke-width", 1.0)
    assert (after.max(axis=(1, 2)) == pale.images.max(axis=(1, 2))).all()


def test_a_stroke_narrower_than_the_change_is_gone() -> None:
    assert images_of(as_pictures(bars(1.5)), "stroke-width", -4.0).max() < 60
