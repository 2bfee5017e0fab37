"""Paper, light and noise: the grey levels asked for are those in the pixels."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose
from numpy.typing import NDArray
from scipy import ndimage, stats

from gen.glyphs.base import RasterGlyphs
from gen.recipe.model import Recipe
from gen.render.engine import Renderer
from gen.render.plan import make_plan
from tests.render import tolerances as tol
from tests.render.measures import centroids, covariances, ink
from tests.render.support import blobs, images_of, raster, sweep

PICTURES = blobs(200)
FRAME = PICTURES.frame


def even(value: int, count: int = 1, frame: tuple[int, int] = FRAME) -> RasterGlyphs:
    return raster(np.full((count, *frame), value, np.uint8))


def multiplied(ink_levels: NDArray[np.uint8], dark: NDArray[np.float64] | float) -> object:
    """The closed form: the light that ink leaves, times the share that the paper leaves."""
    return 255 - (255 - ink_levels.astype(float)) * (255 - dark) / 255


@pytest.mark.parametrize("ratio", [0.05, 0.3, 0.75])
def test_ink_fades_in_proportion_and_paper_stays_paper(ratio: float) -> None:
    seen = images_of(PICTURES, "contrast", ratio)
    assert_allclose(seen, PICTURES.images * ratio, rtol=0, atol=tol.GREY / 2 + 1e-9)
    assert not seen[PICTURES.images == 0].any()
    dark = PICTURES.images > 250
    # 255 times the ratio is seldom a whole grey level.
    seen_ratio = seen[dark].mean() / PICTURES.images[dark].mean()
    assert_allclose(seen_ratio, ratio, rtol=0, atol=0.5 * tol.GREY / 250)


def test_fading_moves_nothing() -> None:
    """Rounding of faint grey edges is all that is left: a tenth of a grey level in ten."""
    seen = images_of(PICTURES, "contrast", 0.5)
    assert np.abs(centroids(seen) - centroids(PICTURES.images)).mean() < tol.CENTROID_PX


@pytest.mark.parametrize("levels", [10.0, 51.0, 127.5, 255.0])
def test_grey_paper_lets_through_its_share_of_the_light(levels: float) -> None:
    seen = images_of(PICTURES, "background", levels)
    expected = multiplied(PICTURES.images, levels)
    assert_allclose(seen, expected, rtol=0, atol=tol.GREY / 2 + 1e-9)
    assert (seen[PICTURES.images == 255] == 255).all()
    assert int(images_of(even(0), "background", levels).max()) == int(levels + 0.5)


@pytest.mark.parametrize(
    ("along", "near", "far"),
    [
        ("x", (9, 0), (9, 27)),
        ("y", (0, 9), (27, 9)),
        (180.0, (9, 27), (9, 0)),
        (90.0, (27, 9), (0, 9)),
        (45.0, (27, 0), (0, 27)),  # up and to the right
    ],
)
def test_a_shadow_falls_from_nothing_to_what_was_asked(
    along: str | float, near: tuple[int, int], far: tuple[int, int]
) -> None:
    seen = images_of(even(0), "shadow", 100.0, along=along)[0]
    assert (seen[near], seen[far]) == (0, 100)


@pytest.mark.parametrize("along", ["x", "y", 30.0])
@pytest.mark.parametrize("depth", [40.0, 200.0])
def test_the_slope_of_a_shadow_is_even_and_as_deep_as_asked(
    along: str | float, depth: float
) -> None:
    """Fitted by scipy: grey level against place along the line, on bare paper."""
    seen = images_of(even(0), "shadow", depth, along=along)[0]
    y, x = np.mgrid[: FRAME[0], : FRAME[1]]
    angle = np.deg2rad({"x": 0.0, "y": -90.0}.get(str(along), along if along == 30.0 else 0.0))
    place = np.cos(angle) * x - np.sin(angle) * y
    fit = stats.linregress(place.ravel(), seen.astype(float).ravel())
    assert_allclose(fit.slope * np.ptp(place), depth, rtol=0, atol=tol.GREY / 2)
    residual = seen - (fit.intercept + fit.slope * place)
    assert np.abs(residual).max() < tol.GREY / 2 + 0.1


def test_shadow_on_a_mark_multiplies_and_full_ink_stays() -> None:
    seen = images_of(PICTURES, "shadow", 120.0, along="x")
    expected = multiplied(PICTURES.images, 120.0 * np.arange(28) / 27)
    assert_allclose(seen, expected, rtol=0, atol=tol.GREY / 2 + 1e-4)


@pytest.mark.parametrize(("spacing", "line"), [(7.0, 1.0), (9.0, 2.0), (6.5, 0.5)])
def test_ruled_lines_have_their_spacing_width_and_depth(spacing: float, line: float) -> None:
    seen = images_of(even(0), "ruled", 80.0, spacing_px=spacing, line_px=line)[0].astype(float)
    assert (seen == seen[:, :1]).all()
    rows = seen[:, 0]
    middle, several = ndimage.label(rows > 0)
    at = np.array(ndimage.center_of_mass(rows, middle, np.arange(1, several + 1)))[:, 0]
    inside = (at > line) & (at < 27 - line)
    assert_allclose(np.diff(at[inside]), spacing, rtol=0, atol=0.02)
    assert np.abs(at - 13.5).min() < 1e-9
    mass = ndimage.sum_labels(rows, middle, np.arange(1, several + 1))[inside]
    assert_allclose(mass, 80.0 * line, rtol=0, atol=1.5 * tol.GREY)


def test_lines_along_y_are_those_along_x_turned() -> None:
    across = images_of(even(0), "ruled", 80.0, along="x")[0]
    down = images_of(even(0), "ruled", 80.0, along="y")[0]
    both = images_of(even(0), "ruled", 80.0, along="both")[0]
    assert np.array_equal(down, across.T)
    # Where lines cross there is one layer of ink: what isn't line in either is paper.
    share = 1 - (1 - across / 80.0) * (1 - down / 80.0)
    assert_allclose(both, 80.0 * share, rtol=0, atol=2 * tol.GREY)


@pytest.mark.parametrize("sigma", [2.0, 10.0, 25.0])
def test_noise_has_its_deviation_and_no_mean(sigma: float) -> None:
    """On grey far from both ends, where nothing is clipped; rounding adds 1/12."""
    seen = images_of(even(128, 200), "noise", sigma).astype(float) - 128
    error = sigma / np.sqrt(seen.size)
    assert abs(seen.mean()) < 4 * error
    assert_allclose(np.sqrt(seen.var() - 1 / 12), sigma, rtol=0, atol=4 * error)
    assert np.abs(seen).max() < 3.4642 * sigma + 0.5


def test_noise_of_one_pixel_says_nothing_of_its_neighbour() -> None:
    seen = images_of(even(128, 200), "noise", 10.0).astype(float) - 128
    for lag in (seen[:, :, 1:] * seen[:, :, :-1], seen[:, 1:] * seen[:, :-1], seen[1:] * seen[:-1]):
        assert abs(lag.mean()) / 100 < 4 / np.sqrt(lag.size)


@pytest.mark.parametrize("value", [60, 128, 200])
@pytest.mark.parametrize("electrons", [100.0, 1000.0])
def test_shot_noise_is_that_of_counted_electrons(electrons: float, value: int) -> None:
    """Poisson counts, drawn by numpy as the oracle: variance and mean of the same light."""
    seen = images_of(even(value, 200), "noise", electrons, unit="electrons").astype(float)
    light = (255 - value) / 255 * electrons
    counted = 255 - np.random.default_rng(1).poisson(light, seen.size) * 255 / electrons
    counted = np.clip(np.rint(counted), 0, 255)
    assert_allclose(seen.std(), counted.std(), rtol=0.02)
    assert_allclose(seen.mean(), counted.mean(), rtol=0, atol=6 * seen.std() / np.sqrt(seen.size))


def test_read_noise_adds_its_variance_where_there_is_no_light() -> None:
    """1000 electrons are 255 levels, so 20 of them are 5.1; dark ink clips half of it."""
    seen = images_of(even(200, 200), "noise", 1000.0, unit="electrons", read_electrons=20.0)
    expected = (20 * 0.255) ** 2 + 55 * 0.255
    assert_allclose(seen.astype(float).var() - 1 / 12, expected, rtol=0.02)


def test_noise_doesnt_wrap_from_paper_to_ink() -> None:
    seen = images_of(even(0, 20), "noise", 100.0)
    assert (seen == 0).mean() == pytest.approx(0.5, abs=0.02)
    assert images_of(even(255, 20), "noise", 100.0).max() == 255


def test_twice_the_level_is_the_same_noise_twice() -> None:
    one = images_of(even(128, 3), "noise", 10.0).astype(float) - 128
    two = images_of(even(128, 3), "noise", 20.0).astype(float) - 128
    assert_allclose(two, 2 * one, rtol=0, atol=1.5)


@pytest.mark.parametrize("side", [1.0, 2.5, 6.0])
def test_a_patch_covers_its_own_area(side: float) -> None:
    """On a full sheet of ink what is missing is the area; patches over the edge are left out."""
    seen = images_of(even(255, 200), "occlusion", side)
    bare = (255.0 - seen).sum(axis=(1, 2)) / 255
    border = seen[:, [0, -1]].min(axis=(1, 2)) + seen[:, :, [0, -1]].min(axis=(1, 2)).astype(int)
    whole = border == 2 * 255
    assert whole.sum() > 60
    # Each of the pixels it touches is rounded to a whole grey level.
    assert np.abs(bare[whole] - side**2).max() < (side + 2) ** 2 * 0.5 / 255


def test_a_patch_is_square_and_lies_on_the_ink() -> None:
    seen = images_of(PICTURES, "occlusion", 5.0, patch="ink")
    added = np.maximum(seen.astype(int) - PICTURES.images, 0)
    patched = raster(np.zeros_like(PICTURES.images))
    assert (ink(seen) > ink(PICTURES.images)).sum() > 150
    assert images_of(patched, "occlusion", 5.0).max() == 0  # paper on paper
    lost = ink(PICTURES.images) - ink(images_of(PICTURES, "occlusion", 5.0))
    assert (lost > 0).all()
    assert added.max() <= 255
    alone = images_of(even(0, 200), "occlusion", 5.0, patch="ink")
    # A square of side s has the variance s**2 / 12 along each axis, and its pixels 1 / 12 more.
    assert_allclose(covariances(alone)[:, [0, 1], [0, 1]].mean(), 25 / 12 + 1 / 12, rtol=0.02)


def test_patches_lie_where_ink_is_in_proportion_to_it() -> None:
    """Two dots, one of four times the ink: it is covered about four times as often."""
    image = np.zeros((400, 28, 28), np.uint8)
    image[:, 8, 8], image[:, 20, 20] = 200, 50
    seen = images_of(raster(image), "occlusion", 2.0)
    dark = (seen[:, 8, 8] < 200).sum()
    faint = (seen[:, 20, 20] < 50).sum()
    assert dark + faint == 400
    assert stats.binomtest(int(dark), 400, 0.8).pvalue > 0.001


@pytest.mark.parametrize("name", ["noise", "occlusion"])
def test_a_larger_level_keeps_its_place(name: str) -> None:
    """What is drawn by lot doesn't depend on the level, so that curves are smooth."""
    small, large = (images_of(PICTURES, name, level).astype(int) for level in (2.0, 4.0))
    changed = (small - PICTURES.images) != 0
    more = np.abs(large - PICTURES.images) >= np.abs(small - PICTURES.images)
    assert more[changed].mean() > 0.99


@pytest.mark.parametrize("name", ["noise", "occlusion"])
def test_another_block_of_the_same_glyphs_gives_the_same_bytes(name: str) -> None:
    plan = make_plan(Recipe("", "", 5, (sweep(name, [6.0]),)), FRAME)
    renderer = Renderer(plan, PICTURES)
    whole = renderer.block(np.arange(30)).render(plan.cells[1]).images
    back = renderer.block(np.arange(29, -1, -1)).render(plan.cells[1]).images
    assert np.array_equal(whole, back[::-1])
