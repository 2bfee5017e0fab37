"""Slant: a shear of the ink, on strokes and on pictures, measured by second moments."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy import ndimage

from gen.glyphs.base import Glyphs, Strokes
from gen.glyphs.strokes import write_strokes
from gen.recipe.model import Recipe
from gen.render.coverage import draw
from gen.render.engine import Renderer
from gen.render.laying import Laid, lay
from gen.render.leaning import draw_leaning
from gen.render.plan import Cell, Step, make_plan
from tests.render import tolerances as tol
from tests.render.measures import Pixels, Real, centroids, covariances, ink
from tests.render.support import Drawn, blobs, capsule, images_of, raster, rendered

FRAME = (56, 56)
WIDE = (84, 84)
SMALL = write_strokes(classes="0123456789", count=200, seed=3)
"""Marks as they are in 28 x 28 px, in a frame of three times the side: nothing leaves it."""
GIVEN = SMALL.strokes(np.arange(200))
WRITTEN = Drawn(Strokes(GIVEN.segments + 28.0, GIVEN.width_px), WIDE)
PICTURES = raster(np.pad(blobs(200).images, ((0, 0), (28, 28), (28, 28))))
ANGLES = [-40.0, -15.0, -5.0, 2.0, 10.0, 25.0, 45.0]
STROKE_DEG, RASTER_DEG = 0.2, 0.4
"""What a slant may be off by, mean over the glyphs: asked of the renderer."""


def seen_deg(before: Pixels, after: Pixels) -> Real:
    """The shear that takes the moments of one picture to those of the other.

    x' = x - t y (y down) changes the covariance of y and x by -t times the variance of y.
    """
    old, new = covariances(before), covariances(after)
    return np.asarray(np.rad2deg(np.arctan((old[:, 0, 1] - new[:, 0, 1]) / old[:, 0, 0])))


@cache
def upright() -> Pixels:
    return rendered(WRITTEN, "translation", 0.0).images


@cache
def true_upright() -> Pixels:
    return in_fine_pixels(Strokes(GIVEN.segments + 28.0, GIVEN.width_px), WIDE, 4)


@pytest.mark.parametrize("angle", ANGLES)
def test_strokes_lean_by_what_was_asked(angle: float) -> None:
    assert np.abs(seen_deg(upright(), slanted(WRITTEN, angle)) - angle).mean() < STROKE_DEG


@pytest.mark.parametrize("angle", ANGLES)
def test_pictures_lean_by_what_was_asked(angle: float) -> None:
    assert np.abs(seen_deg(PICTURES.images, slanted(PICTURES, angle)) - angle).mean() < RASTER_DEG


def slanted(glyphs: Glyphs, angle: float) -> Pixels:
    seen = rendered(glyphs, "slant", angle, about="mark")
    assert not seen.ink_lost.any()
    return seen.images


def in_fine_pixels(strokes: Strokes, frame: tuple[int, int], fine: int) -> Pixels:
    """The reference: drawn upright in pixels of a fraction of the side, and averaged."""
    large = Strokes((strokes.segments + 0.5) * fine - 0.5, strokes.width_px * fine)
    drawn = draw(large, (frame[0] * fine, frame[1] * fine))
    mean = drawn.reshape(-1, frame[0], fine, frame[1], fine).mean(axis=(2, 4))
    return np.floor(mean + 0.5).astype(np.uint8)


@pytest.mark.parametrize("angle", ANGLES)
def test_on_strokes_nothing_else_changes(angle: float) -> None:
    """A shear keeps areas, heights and the centroid it is about."""
    before, after = true_upright(), slanted(WRITTEN, angle)
    # What it is about is measured in the mark as drawn, along y alone for this map.
    t = np.tan(np.deg2rad(angle))
    about = centroids(upright())[:, 0] - centroids(before)[:, 0]
    moved = centroids(after) - centroids(before) - np.stack([0 * about, t * about], axis=1)
    assert np.abs(moved).mean() < tol.CENTROID_PX
    assert np.abs(ink(after) / ink(before) - 1).mean() < 0.005
    old, new = covariances(before), covariances(after)
    assert np.abs(np.sqrt(new[:, 0, 0] / old[:, 0, 0]) - 1).mean() < 0.002
    sheared = old[:, 1, 1] - 2 * t * old[:, 0, 1] + t**2 * old[:, 0, 0]
    assert np.abs(np.sqrt(new[:, 1, 1] / sheared) - 1).mean() < 0.002


def test_on_pictures_what_resampling_adds_is_under_a_quarter_px() -> None:
    for angle in ANGLES:
        old, new = covariances(PICTURES.images), covariances(slanted(PICTURES, angle))
        t = np.tan(np.deg2rad(angle))
        added = new[:, 1, 1] - (old[:, 1, 1] - 2 * t * old[:, 0, 1] + t**2 * old[:, 0, 0])
        assert -0.02 < added.mean() < 0.25 + t**2 / 12
        assert np.abs(new[:, 0, 0] - old[:, 0, 0]).mean() < 0.02


@pytest.mark.parametrize("angle", [-30.0, 15.0])
def test_leaning_strokes_look_like_the_drawn_mark_sheared(angle: float) -> None:
    """The oracle: drawn upright 16 times as large, sheared by scipy, and averaged."""
    fine = 16
    few = write_strokes(classes="0123456789", count=20, seed=3)
    strokes = few.strokes(np.arange(20))
    large = Strokes((strokes.segments + 0.5) * fine - 0.5, strokes.width_px * fine)
    drawn = draw(large, (28 * fine, 28 * fine)).astype(float)
    t = np.tan(np.deg2rad(angle))
    middle = (28 * fine - 1) / 2
    oracle = np.stack(
        [
            ndimage.affine_transform(
                each, [[1, 0], [t, 1]], (0, -t * middle), order=1, mode="grid-constant"
            )
            for each in drawn
        ]
    ).reshape(-1, 28, fine, 28, fine)
    off = np.abs(images_of(few, "slant", angle) - oracle.mean(axis=(2, 4)))
    round_pen = Laid(Strokes(lay(strokes, sheared(t)).strokes.segments, strokes.width_px))
    wrong = np.abs(round_pen.drawn((28, 28)) - oracle.mean(axis=(2, 4)))
    assert off.mean() < 0.6
    # A round pen moved along sheared lines is not the sheared ink, and this can tell.
    assert wrong.mean() > 1.5 * off.mean()


def sheared(t: float) -> Real:
    return np.array([[1.0, 0.0, 0.0], [-t, 1.0, t * 13.5]])


def test_an_upright_stroke_keeps_its_width_along_x_and_a_flat_one_its_thickness() -> None:
    upright = images_of(capsule((6, 28), (50, 28), 4.0, FRAME), "slant", 30.0)[0] / 255.0
    assert_allclose(upright[15:42].sum(axis=1), 4.0, rtol=0, atol=tol.STROKE_PX)
    flat = images_of(capsule((27.5, 6), (27.5, 50), 4.0, FRAME), "slant", 30.0)[0] / 255.0
    assert_allclose(flat[:, 15:42].sum(axis=0), 4.0, rtol=0, atol=tol.STROKE_PX)


def test_a_hairline_keeps_its_ink_when_it_leans() -> None:
    """Half a px wide along x, whatever the angle: thin pens cover no more than their width."""
    for angle in (0.0, 20.0, 45.0):
        seen = images_of(capsule((6, 28), (50, 28), 0.5, FRAME), "slant", angle)[0] / 255.0
        assert_allclose(seen[15:42].sum(axis=1).mean(), 0.5, rtol=0.06)


def test_a_dot_becomes_a_leaning_ellipse_of_the_same_ink() -> None:
    dot = Drawn(Strokes(np.full((1, 1, 2, 2), 27.5), np.array([[12.0]])), FRAME)
    seen = images_of(dot, "slant", 30.0)
    assert_allclose(ink(seen) / 255, np.pi * 36, rtol=0.005)
    t = np.tan(np.deg2rad(30))
    expected = 9 * np.array([[1, -t], [-t, 1 + t * t]]) + np.eye(2) / 6
    assert_allclose(covariances(seen)[0], expected, rtol=0, atol=0.12)


def test_under_a_turn_and_a_change_of_size_the_pen_stays_round() -> None:
    strokes = WRITTEN.strokes(np.arange(20))
    cosine, sine = 0.8, 0.6
    forward = np.array([[cosine, -sine, 25.0], [sine, cosine, -11.0]]) * 0.7
    laid = lay(strokes, forward)
    assert laid.pen is None
    pen = np.broadcast_to(forward[:, :2], (20, 2, 2))
    leaning = draw_leaning(Strokes(laid.strokes.segments, strokes.width_px), pen, WIDE)
    # Where pieces meet, one takes the greatest cover and the other the farthest edge.
    upright_pen = in_fine_pixels(laid.strokes, WIDE, 2)
    off = np.abs(leaning.astype(int) - upright_pen)
    assert off[upright_pen > 0].mean() < 0.5
    assert off.max() <= 8


@pytest.mark.parametrize("source", ["strokes", "pictures"])
def test_a_mark_leans_before_it_is_turned(source: str) -> None:
    glyphs: Glyphs = WRITTEN if source == "strokes" else PICTURES
    block = Renderer(make_plan(Recipe("", "", 0, ()), WIDE), glyphs).block(np.arange(50))
    turn = Step("rotation", "deg", 90.0, (("about", "frame"),))
    lean = Step("slant", "deg", 20.0, (("about", "frame"),))
    both = block.render(Cell("both", (turn, lean))).images
    expected = np.rot90(images_of(glyphs, "slant", 20.0)[:50], axes=(1, 2))
    assert np.abs(both.astype(int) - expected).max() <= 1


def test_ink_that_leans_out_of_the_frame_is_counted() -> None:
    line = capsule((2, 27.5), (53, 27.5), 3.0, FRAME)
    seen = rendered(line, "slant", 60.0)
    # tan 60 = 1.732: 28 px to each side are reached 16.2 px above and below the centre.
    assert_allclose(seen.ink_lost[0], 1 - 2 * 28 / 1.7320508 / (51 + 1.5 * np.pi / 2), atol=0.01)
