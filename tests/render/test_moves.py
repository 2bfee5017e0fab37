"""Moves, turns and changes of size: asked equals measured, by scipy and scikit-image."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy import ndimage

from gen.glyphs.base import Glyphs, RasterGlyphs
from gen.glyphs.strokes import write_strokes
from gen.recipe.model import Recipe
from gen.render.engine import Renderer
from gen.render.plan import Cell, Step, make_plan
from tests.render import tolerances as tol
from tests.render.measures import Pixels, Real, angles_deg, centroids, covariances, ink, sizes
from tests.render.support import blobs, capsule, images_of, raster, rendered

PICTURES = blobs(200)


@pytest.mark.parametrize("along", ["x", "y"])
@pytest.mark.parametrize("shift", [-4, -1, 1, 3])
def test_whole_px_equal_numpy_roll(along: str, shift: int) -> None:
    moved = images_of(PICTURES, "translation", float(shift), along=along)
    expected = np.roll(PICTURES.images, shift, axis=2 if along == "x" else 1)
    assert moved.tobytes() == expected.tobytes()


@pytest.mark.parametrize("shift", [-2.5, -0.25, 0.1, 0.5, 1.75])
@pytest.mark.parametrize(
    ("along", "way"), [("x", (0, 1)), ("y", (1, 0)), (30.0, (-0.5, 0.75**0.5))]
)
def test_a_fraction_of_a_px_moves_the_centroid_by_that_fraction(
    shift: float, along: str | float, way: tuple[float, float]
) -> None:
    moved = images_of(PICTURES, "translation", shift, along=along)
    seen = centroids(moved) - centroids(PICTURES.images)
    assert np.abs(seen - shift * np.array(way)).mean() < tol.CENTROID_PX


@pytest.mark.parametrize("shift", [-1.3, 0.25, 0.5])
def test_moves_agree_with_linear_shifts_by_scipy(shift: float) -> None:
    moved = images_of(PICTURES, "translation", shift, along="x")
    # grid-constant: paper outside the frame, and values in between interpolated to it.
    oracle = np.stack(
        [
            ndimage.shift(image.astype(float), (0, shift), order=1, mode="grid-constant")
            for image in PICTURES.images
        ]
    )
    assert_allclose(moved, oracle, rtol=0, atol=tol.GREY)


def in_fine_points(images: Pixels, matrix: Real, shift: Real, fine: int = 16) -> Real:
    """The oracle: each new pixel looked at in fine x fine points, each taking the old pixel
    that it lies in (scipy, order 0), and averaged. Points are (y, x) about the centre 13.5."""
    size = images.shape[1]
    back = np.linalg.inv(matrix)
    centre = np.array([(size - 1) / 2] * 2)
    # Point k of the fine grid lies at (k + 1/2) / fine - 1/2 in pixels.
    start = back @ (np.array([0.5 / fine - 0.5] * 2) - centre - shift) + centre
    seen = [
        ndimage.affine_transform(
            image.astype(float),
            back / fine,
            start,
            output_shape=(size * fine, size * fine),
            order=0,
            mode="grid-constant",
        )
        for image in images
    ]
    return np.stack(seen).reshape(-1, size, fine, size, fine).mean(axis=(2, 4))


def turn(angle_deg: float) -> Real:
    """From old to new points (y, x), y down, anticlockwise as seen."""
    c, s = np.cos(np.deg2rad(angle_deg)), np.sin(np.deg2rad(angle_deg))
    return np.array([[c, -s], [s, c]])


def assert_same_as_fine_points(seen: Pixels, oracle: Real) -> None:
    off = np.abs(seen - oracle)
    assert off.max() < tol.SAMPLED_GREY
    assert off.mean() < tol.SAMPLED_GREY_MEAN


def test_the_comparison_with_fine_points_can_fail() -> None:
    oracle = in_fine_points(PICTURES.images[:5], turn(30.0), np.zeros(2))
    with pytest.raises(AssertionError):
        assert_same_as_fine_points(images_of(PICTURES, "rotation", 31.0)[:5], oracle)


@pytest.mark.parametrize("angle", [-75.0, -10.0, 5.0, 30.0, 45.0])
def test_turns_are_the_covered_area_of_turned_pixels(angle: float) -> None:
    """About 13.5, the centre of 28 px in pixel centres; 14 would be half a px off."""
    few = raster(PICTURES.images[:40])
    oracle = in_fine_points(few.images, turn(angle), np.zeros(2))
    assert_same_as_fine_points(images_of(few, "rotation", angle), oracle)


@pytest.mark.parametrize("ratio", [0.3, 0.8, 1.3])
def test_sizes_are_the_covered_area_of_resized_pixels(ratio: float) -> None:
    # Edges along the grid miss by the same amount all along: finer points than for turns.
    few = raster(PICTURES.images[:8])
    oracle = in_fine_points(few.images, np.eye(2) * ratio, np.zeros(2), fine=64)
    assert_same_as_fine_points(images_of(few, "scale", ratio), oracle)


@pytest.mark.parametrize("angle", [-90.0, 90.0, 180.0, -180.0])
def test_quarter_turns_equal_numpy_rot90_to_the_byte(angle: float) -> None:
    turned = images_of(PICTURES, "rotation", angle)
    expected = np.rot90(PICTURES.images, round(angle / 90), axes=(1, 2))
    assert turned.tobytes() == np.ascontiguousarray(expected).tobytes()


@pytest.mark.parametrize("angle", [-20.0, 7.0, 33.0])
@pytest.mark.parametrize("kind", ["pictures", "strokes"])
def test_a_turn_turns_the_principal_axis(angle: float, kind: str) -> None:
    bars = [
        capsule((13.5, 6 + i / 20), (13.5 + i / 40, 20), 2 + i / 20, (28, 28)) for i in range(40)
    ]
    sources = bars if kind == "strokes" else [_as_picture(bar) for bar in bars]
    before = np.concatenate([rendered(g, "translation", 0.0).images for g in sources])
    after = np.concatenate([images_of(g, "rotation", angle) for g in sources])
    seen = (angles_deg(after) - angles_deg(before) + 90) % 180 - 90
    assert np.abs(seen - angle).mean() < tol.ANGLE_DEG


@pytest.mark.parametrize("ratio", [0.5, 0.8, 0.9, 1.1, 1.25])
def test_size_changes_by_the_ratio(ratio: float) -> None:
    """Marks of 8 px radius, twice as large in the frame of 56 as in that of 28."""
    large = blobs(200, (56, 56))
    seen = sizes(images_of(large, "scale", ratio)) / sizes(large.images)
    assert np.abs(seen / ratio - 1).mean() < tol.RATIO


@pytest.mark.parametrize("ratio", [0.5, 0.8, 1.2])
def test_ink_changes_by_the_square_of_the_ratio_and_thin_strokes_stay(ratio: float) -> None:
    changed = images_of(PICTURES, "scale", ratio)
    assert_allclose(ink(changed).sum() / ink(PICTURES.images).sum(), ratio**2, rtol=0.003)


def test_shrinking_a_hairline_to_a_tenth_keeps_every_row_inked() -> None:
    """Looking at single points loses rows of a thin slanted line; parts of a pixel do not."""
    line = capsule((20, 60), (260, 90), 2.0, (280, 280))
    small = images_of(_as_picture(line), "scale", 0.1)[0]
    inked = np.flatnonzero(small.any(axis=1))
    assert len(inked) >= 24
    assert (np.diff(inked) == 1).all()
    assert_allclose(small.sum() / rendered(line, "translation", 0.0).images.sum(), 0.01, rtol=0.03)


@pytest.mark.parametrize("ratio", [0.6, 1.3])
def test_strokes_change_size_exactly(ratio: float) -> None:
    glyphs = write_strokes(classes="0123456789", count=200, frame=(56, 56), seed=3)
    before = rendered(glyphs, "translation", 0.0).images
    after = images_of(glyphs, "scale", ratio, about="mark")
    kept = rendered(glyphs, "scale", ratio, about="mark").ink_lost == 0
    seen = sizes(after)[kept] / sizes(before)[kept]
    assert np.abs(seen / ratio - 1).mean() < 0.002


def test_about_the_mark_leaves_the_centroid_where_it_is() -> None:
    for name, level in (("rotation", 25.0), ("scale", 0.8)):
        moved = images_of(PICTURES, name, level, about="mark")
        seen = centroids(moved) - centroids(PICTURES.images)
        assert np.abs(seen).mean() < tol.CENTROID_PX, name


def test_whole_moves_and_turns_add_exactly_nothing() -> None:
    before = covariances(PICTURES.images)
    for name, level in (("translation", 3.0), ("rotation", 180.0)):
        after = covariances(images_of(PICTURES, name, level))
        assert_allclose(after, before, rtol=0, atol=1e-9)


def test_half_a_px_adds_a_quarter_px_of_variance_and_not_more() -> None:
    """d (1 - d) for a move of d px with linear weights."""
    after = covariances(images_of(PICTURES, "translation", 0.5, along="x"))
    added = (after - covariances(PICTURES.images))[:, 1, 1]
    assert_allclose(added.mean(), 0.25, rtol=0, atol=0.01)


@pytest.mark.parametrize(
    ("name", "level"), [("translation", 0.3), ("rotation", 12.0), ("rotation", 40.0)]
)
def test_ink_in_equals_ink_out(name: str, level: float) -> None:
    moved = images_of(PICTURES, name, level)
    off = np.abs(ink(moved) - ink(PICTURES.images)) / PICTURES.frame[0]
    assert off.mean() < tol.INK_PER_ROW


def test_a_turn_and_a_move_are_one_step_turned_first() -> None:
    plan = make_plan(Recipe("", "", 0, ()), PICTURES.frame)
    block = Renderer(plan, PICTURES).block(np.arange(len(PICTURES)))
    turned = Step("rotation", "deg", 30.0, (("about", "frame"),))
    move = Step("translation", "px", 2.5, (("along", "x"),))
    both = block.render(Cell("both", (move, turned))).images
    oracle = in_fine_points(PICTURES.images[:40], turn(30.0), np.array([0.0, 2.5]))
    assert_same_as_fine_points(both[:40], oracle)
    twice = images_of(raster(images_of(PICTURES, "rotation", 30.0)), "translation", 2.5, along="x")
    with pytest.raises(AssertionError):
        assert_same_as_fine_points(twice[:40], oracle)


@pytest.mark.parametrize("shift", [0.0, 6.0, 12.0, 27.0])
def test_ink_that_leaves_the_frame_is_counted(shift: float) -> None:
    seen = rendered(PICTURES, "translation", shift, along="x")
    expected = 1 - ink(seen.images) / ink(PICTURES.images)
    assert_allclose(seen.ink_lost, expected, rtol=0, atol=1e-9)


def test_strokes_that_leave_the_frame_are_counted() -> None:
    line = capsule((13.5, 3.5), (13.5, 23.5), 4.0, (28, 28))
    seen = rendered(line, "translation", 14.0, along="x")
    # 10 of 20 px of the line, and one of its two round ends, are outside.
    assert seen.ink_lost[0] == pytest.approx(0.5, abs=0.005)
    assert rendered(line, "translation", 1.0, along="x").ink_lost[0] == 0


def _as_picture(glyphs: Glyphs) -> RasterGlyphs:
    return raster(rendered(glyphs, "translation", 0.0).images)
