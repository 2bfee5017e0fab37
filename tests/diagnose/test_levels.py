"""Paper, ink, noise, polarity and the rest: planted amounts are found again."""

from __future__ import annotations

import re

import numpy as np
import pytest

from gen import measure_glyphs, write_strokes
from gen.core.errors import GlyphError
from gen.diagnose.measures import MEASURES, measure
from tests.diagnose import tolerances as tol
from tests.diagnose.truth import SIDE, written

MARKS = written(3.0)


def median(images: np.ndarray, name: str) -> float:
    whole = np.clip(np.rint(images), 0, 255).astype(np.uint8)
    return float(np.nanmedian(measure(whole)[name]))


@pytest.mark.parametrize("grey", [0, 20, 90])
@pytest.mark.parametrize("contrast", [40, 120])
def test_paper_and_contrast_are_found_again(grey: int, contrast: int) -> None:
    images = MARKS * (contrast / 255) + grey
    assert median(images, "background") == pytest.approx(grey, abs=tol.LEVEL_GREY)
    assert median(images, "contrast") == pytest.approx(contrast, abs=tol.LEVEL_GREY)
    assert median(images, "unevenness") < tol.LEVEL_GREY


@pytest.mark.parametrize("rise", [20.0, 60.0])
def test_a_shadow_across_the_paper_is_measured_from_edge_to_edge(rise: float) -> None:
    shade = np.linspace(0, rise, SIDE)
    images = MARKS * 0.5 + 30 + shade
    assert median(images, "unevenness") == pytest.approx(rise, abs=2 * tol.LEVEL_GREY)
    assert median(images, "background") == pytest.approx(30 + rise / 2, abs=tol.LEVEL_GREY)
    assert median(images, "stroke_width_px") == pytest.approx(3, abs=tol.STROKE_PX)


@pytest.mark.parametrize("sigma", [3.0, 10.0, 20.0])
@pytest.mark.parametrize("grey", [0, 80])
def test_noise_is_found_again_cut_off_at_zero_or_not(sigma: float, grey: int) -> None:
    noise = np.random.default_rng(2).normal(0, sigma, MARKS.shape)
    images = MARKS * 0.5 + grey + noise
    assert median(images, "noise") == pytest.approx(sigma, rel=tol.NOISE_SHARE)
    assert median(images, "background") == pytest.approx(grey, abs=tol.LEVEL_NOISY_GREY)


def test_clean_pictures_have_no_noise_and_even_paper() -> None:
    for name in ("noise", "unevenness", "background", "border_like_ink"):
        assert median(MARKS, name) == 0.0


def test_inverted_pictures_have_a_border_like_ink() -> None:
    assert median(255 - MARKS, "border_like_ink") > 0.95


def test_pieces_are_counted_by_corners_too_and_specks_are_not() -> None:
    from skimage.measure import label

    images = np.zeros((40, SIDE, SIDE), np.uint8)
    rng = np.random.default_rng(3)
    for image in images:
        for _ in range(int(rng.integers(1, 5))):
            y, x = rng.integers(1, 22, 2)
            image[y : y + 4, x : x + 4] = 255
    truth = [int(label(image > 127, connectivity=2).max()) for image in images]
    assert measure(images)["pieces"].tolist() == truth
    images[:, 26, 26] = 255
    assert measure(images)["pieces"].tolist() == truth


def test_grey_levels_are_the_different_values() -> None:
    assert measure(MARKS)["grey_levels"].tolist() == [len(np.unique(one)) for one in MARKS]


def test_ink_share_is_ink_over_a_full_frame_whatever_the_paper() -> None:
    truth = MARKS.mean(axis=(1, 2)) / 255
    assert measure(MARKS)["ink_share"] == pytest.approx(truth, abs=1e-6)
    faint = np.rint(MARKS * 0.5 + 60).astype(np.uint8)
    assert measure(faint)["ink_share"].mean() == pytest.approx(truth.mean() / 2, rel=0.01)


def test_ink_in_the_outermost_pixels_is_counted() -> None:
    bar = np.zeros((1, SIDE, SIDE), np.uint8)
    bar[0, 0:10, 10:14] = 255
    assert measure(bar)["ink_at_border"][0] == pytest.approx(0.1, abs=tol.ROUNDING)


def test_a_blank_picture_tells_nothing_of_a_mark() -> None:
    seen = measure(np.full((2, SIDE, SIDE), 77, np.uint8))
    assert seen["background"].tolist() == [77.0, 77.0]
    assert seen["ink_share"].tolist() == [0.0, 0.0]
    for name in ("centroid_dx_px", "height_px", "stroke_width_px", "edge_sigma_px", "contrast"):
        assert np.isnan(seen[name]).all(), name


def test_a_glyph_alone_is_measured_as_in_a_batch() -> None:
    whole = measure(MARKS)
    alone = measure(MARKS[17:18])
    for name in MEASURES:
        assert alone[name][0] == pytest.approx(whole[name][17], rel=1e-4, abs=1e-4), name


def test_measures_come_in_the_order_of_the_table_with_their_quantiles() -> None:
    seen = measure_glyphs(write_strokes(count=40))
    assert list(seen) == list(MEASURES)
    assert seen.count == 40
    low, middle, high = seen.quantiles("ink_share", (5, 50, 95))
    assert low < middle < high
    assert middle == pytest.approx(float(np.median(seen["ink_share"])))


@pytest.mark.parametrize("wrong", [np.zeros((3, 28), np.uint8), np.zeros((3, 2, 2), np.uint8)])
def test_what_are_no_pictures_is_refused(wrong: np.ndarray) -> None:
    with pytest.raises(GlyphError, match=re.escape(f"of shape {wrong.shape}")):
        measure(wrong)
