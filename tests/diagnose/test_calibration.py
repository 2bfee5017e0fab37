"""Each measure of shape against marks whose true value is known."""

from __future__ import annotations

import numpy as np
import pytest

from gen.diagnose.measures import measure
from gen.perturb.recipes import parse_recipe
from gen.render.blur import blur
from gen.render.pictures import render_cells
from tests.diagnose import tolerances as tol
from tests.diagnose.truth import GIVEN, SIDE, Pixels, lines, softened, written, written_centroids
from tests.render.support import Drawn, Strokes

WIDTHS = [2.0, 3.0, 4.0, 5.0]
SIGMAS = [0.5, 1.0, 1.5, 2.0, 2.5]


def mean(images: Pixels, name: str) -> float:
    return float(np.nanmean(measure(images)[name]))


@pytest.mark.parametrize("width", WIDTHS)
def test_the_centre_of_ink_is_that_of_the_shape(width: float) -> None:
    pictures, centres, _ = lines(width)
    for images, truth in ((pictures, centres), (written(width), written_centroids(width))):
        seen = measure(images)
        off = np.hypot(seen["centroid_dy_px"] - truth[:, 0], seen["centroid_dx_px"] - truth[:, 1])
        assert off.mean() < tol.CENTROID_PX


@pytest.mark.parametrize("width", WIDTHS)
def test_the_centre_of_ink_stays_on_grey_noisy_paper(width: float) -> None:
    pictures, centres, _ = lines(width)
    noise = np.random.default_rng(1).normal(0, 8, pictures.shape)
    paper = np.clip(np.rint(pictures * 0.7 + 50 + noise), 0, 255).astype(np.uint8)
    seen = measure(paper)
    assert abs(np.mean(seen["centroid_dy_px"] - centres[:, 0])) < tol.CENTROID_PX
    assert abs(np.mean(seen["centroid_dx_px"] - centres[:, 1])) < tol.CENTROID_PX


@pytest.mark.parametrize("width", WIDTHS)
def test_strokes_are_as_wide_as_they_were_drawn(width: float) -> None:
    assert mean(written(width), "stroke_width_px") == pytest.approx(width, abs=tol.STROKE_PX)
    assert mean(lines(width)[0], "stroke_width_px") == pytest.approx(width, abs=tol.STROKE_PX)


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("sigma", [0.5, 1.0])
def test_blur_is_not_taken_for_width(width: float, sigma: float) -> None:
    for images in (written(width), lines(width)[0]):
        seen = mean(blur(images, sigma), "stroke_width_px")
        assert seen == pytest.approx(width, abs=tol.STROKE_PX)
        other = mean(softened(images, sigma), "stroke_width_px")
        assert other == pytest.approx(width, abs=tol.STROKE_BLURRED_PX)


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("share", [0.25, 0.6])
def test_faint_ink_is_not_taken_for_a_thinner_pen(width: float, share: float) -> None:
    faint = np.rint(written(width) * share).astype(np.uint8)
    assert mean(faint, "stroke_width_px") == pytest.approx(width, abs=tol.STROKE_FAINT_PX)


def test_a_stroke_that_blur_hides_is_not_told() -> None:
    hidden = measure(blur(lines(4.0)[0], 2.5))["stroke_width_px"]
    assert np.isnan(hidden).mean() > 0.9


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("sigma", SIGMAS)
def test_blur_of_the_edges_is_that_of_the_lens(width: float, sigma: float) -> None:
    near = tol.SIGMA_PX if sigma <= 2.0 else tol.SIGMA_WIDEST_PX
    for images in (written(width), lines(width)[0]):
        assert mean(blur(images, sigma), "edge_sigma_px") == pytest.approx(sigma, abs=near)


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("sigma", [1.0, 1.5, 2.0, 2.5])
def test_blur_by_other_code_is_read_as_well(width: float, sigma: float) -> None:
    for images in (written(width), lines(width)[0]):
        seen = mean(softened(images, sigma), "edge_sigma_px")
        assert seen == pytest.approx(sigma, abs=tol.SIGMA_KERNEL_PX)


@pytest.mark.parametrize("width", WIDTHS)
def test_sharp_edges_are_told_as_sharp(width: float) -> None:
    assert mean(written(width), "edge_sigma_px") < 0.3
    assert mean(lines(width)[0], "edge_sigma_px") < 0.3


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("sigma", [0.0, 1.5])
def test_a_straight_stroke_leans_by_its_direction(width: float, sigma: float) -> None:
    images, _, angles = lines(width)
    truth = np.rad2deg(np.arctan2(np.cos(angles), np.sin(angles)))  # from upright, to the right
    steep = np.abs(truth) < 35
    seen = measure(blur(images, sigma) if sigma else images)["slant_deg"]
    assert np.abs(seen - truth)[steep].mean() < tol.SLANT_DEG


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("angle", [-20, -10, 10, 20])
def test_a_slanted_hand_leans_by_what_was_asked(width: float, angle: int) -> None:
    pen = np.full_like(GIVEN.width_px, width)
    recipe = parse_recipe(
        f'title = "Lean"\n[[sweep]]\nperturbation = "slant"\nunit = "deg"\nlevels = [{angle}]'
    )
    (_, upright), (_, leaning) = render_cells(
        recipe, Drawn(Strokes(GIVEN.segments, pen), (SIDE, SIDE))
    )
    own = np.tan(np.deg2rad(measure(upright.images)["slant_deg"]))
    asked = np.rad2deg(np.arctan(own + np.tan(np.deg2rad(angle))))
    off = measure(leaning.images)["slant_deg"] - asked
    assert abs(np.nanmean(off)) < tol.SLANT_DEG


def test_the_sign_of_slant_is_that_of_the_perturbation() -> None:
    images = np.zeros((1, SIDE, SIDE), np.uint8)
    for y in range(4, 24):
        images[0, y, 18 - y // 3 : 21 - y // 3] = 255
    assert measure(images)["slant_deg"][0] == pytest.approx(18.4, abs=tol.SLANT_DEG)  # atan 1/3


@pytest.mark.parametrize("part", [0.0, 0.25, 0.5, 0.75])
def test_the_box_is_known_between_the_pixels(part: float) -> None:
    bar = np.zeros((1, SIDE, SIDE))
    bar[0, 6:20, 9:13] = 255
    moved = (1 - part) * bar + part * np.roll(bar, 1, axis=1)
    seen = measure(np.rint(moved).astype(np.uint8))
    assert seen["height_px"][0] == pytest.approx(14, abs=tol.BOX_PX)
    assert seen["width_px"][0] == pytest.approx(4, abs=tol.BOX_PX)
    assert seen["margin_top_px"][0] == pytest.approx(6 + part, abs=tol.BOX_PX)
    assert seen["margin_bottom_px"][0] == pytest.approx(8 - part, abs=tol.BOX_PX)
    assert seen["margin_left_px"][0] == pytest.approx(9, abs=tol.BOX_PX)


def test_larger_frames_are_measured_in_their_own_pixels() -> None:
    from gen.glyphs.strokes import write_strokes
    from gen.render.coverage import draw

    for side in (32, 64, 112):
        strokes = write_strokes(count=60, seed=4, frame=(side, side)).strokes(np.arange(60))
        width = side / 8
        images = draw(
            type(strokes)(strokes.segments, np.full_like(strokes.width_px, width)), (side, side)
        )
        assert mean(images, "stroke_width_px") == pytest.approx(width, rel=0.05)
