"""What looks like a fault and is none: each beside the fault that it looks like."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import cv2
import numpy as np
import pytest

from gen import load_glyphs, nominal_pictures, write_strokes
from gen.diagnose.judge import twins
from gen.diagnose.lines import RULED, ruled_share
from gen.diagnose.measures import measure
from gen.diagnose.operations import Chain, Operation, carry_out
from gen.diagnose.sets import check_set
from gen.diagnose.workbench import Trial
from gen.diagnose.wrap import sheared_rows
from gen.glyphs.base import Pixels
from tests.diagnose.planted import clean, each_row_stretched, ruled, sheared, with_images
from tests.diagnose.test_judging import BY_NAME, fit_of


def few(count: int = 60) -> Pixels:
    return clean().images[:count]


def about_the_frame(name: str, amount: float, unit: str) -> Chain:
    return (Operation(name, amount, unit, (("about", "frame"),)),)


@pytest.mark.parametrize("lean_deg", [-35.0, 30.0, 40.0])
def test_marks_that_lean_are_no_rows_of_another_length(lean_deg: float) -> None:
    assert sheared_rows(carry_out(few(), about_the_frame("slant", lean_deg, "deg")))[0] == 0
    assert sheared_rows(sheared(few(), 1))[0] == 1
    assert sheared_rows(sheared(few(), -1))[0] == -1


def test_rows_stored_longer_are_seen_though_rolling_them_back_would_not_mend_them() -> None:
    stored = np.pad(few(), ((0, 0), (0, 0), (0, 4))).reshape(60, -1)[:, : 28 * 28]
    assert sheared_rows(np.ascontiguousarray(stored).reshape(60, 28, 28))[0] == 4


def test_a_mark_that_fills_its_frame_is_no_ruled_line() -> None:
    large = carry_out(few(), about_the_frame("scale", 1.6, "ratio"))
    thick = carry_out(few(), (Operation("stroke-width", 4.0, "px"),))
    for images, is_ruled in ((large, False), (thick, False), (ruled(few()), True)):
        assert (ruled_share(images, measure(images)) > RULED) == is_ruled


def test_lines_are_seen_on_noisy_paper_and_noise_is_no_line() -> None:
    noise = np.random.default_rng(4).normal(0, 25, few().shape)
    paper, lined = (
        np.clip(images + noise, 0, 255).astype(np.uint8) for images in (few(), ruled(few()))
    )
    assert ruled_share(paper, measure(paper)) < RULED / 10
    assert ruled_share(lined, measure(lined)) > RULED


def test_marks_that_the_frame_cuts_off_were_not_normalised_line_by_line() -> None:
    """A stroke that is cut off is as dark in the outermost row as anywhere."""
    cut = carry_out(clean().images, about_the_frame("scale", 2.0, "ratio"))
    rows = each_row_stretched(clean().images)
    for images, normalised in ((cut, False), (rows, True)):
        found = [one for one in check_set(with_images(clean(), images)) if one.found]
        said = any("normalised by itself" in one.says for one in found)
        assert said == normalised


@pytest.mark.parametrize("times", [2, 4])
def test_small_pictures_enlarged_by_repeating_pixels_are_no_channels(times: int) -> None:
    small = clean().images[:, times // 2 :: times, times // 2 :: times]
    large = np.repeat(np.repeat(small, times, axis=1), times, axis=2)
    says = [
        one.says
        for one in check_set(with_images(clean(), large))
        if one.found and one.kind == "pixel packing"
    ]
    assert len(says) == 1
    assert f"enlarged {times} times by repeating pixels" in says[0]


@pytest.mark.parametrize(("far", "told"), [(1.0, True), (2.0, False)])
def test_beside_a_move_of_a_px_the_rule_that_does_the_same_is_told(far: float, told: bool) -> None:
    images = few(20)
    move = (Operation("translation", far, "px", (("along", "x"),)),)
    options: Any = (("box_px", None), ("margin_px", 0.0))
    laid = (Operation("placement", "centre of mass, whole px", "rule", options),)
    right = np.ones(20)
    trial = Trial(np.zeros(20, np.intp), right > 0, right)
    bench: Any = SimpleNamespace(
        images=images, trial=lambda chain: trial, pictures=lambda chain: images
    )
    search: Any = SimpleNamespace(bench=bench, tried=[fit_of(right, "placement", chain=laid)])
    assert BY_NAME["placement"].coarse[2] == ("centre of mass, whole px",)
    assert (laid in twins(search, fit_of(right, "translation", chain=move))) == told


def squared(image: Pixels) -> Pixels:
    """The crop of a mark, faint edges left out, resized to 20 x 20 px with no eye on its aspect."""
    y, x = np.nonzero(image > 60)
    out = np.zeros((28, 28), np.uint8)
    crop = image[y.min() : y.max() + 1, x.min() : x.max() + 1]
    out[4:24, 4:24] = cv2.resize(crop, (20, 20), interpolation=cv2.INTER_AREA)
    return out


@pytest.mark.parametrize("classes", ["0123456789", "2", "W", "0OQ"])
def test_crops_resized_to_a_square_are_seen_and_marks_about_as_wide_as_high_are_none(
    classes: str,
) -> None:
    marks = write_strokes(count=60, classes=classes, seed=3)
    images = nominal_pictures(marks)
    for shown, lost in ((images, False), (np.stack([squared(one) for one in images]), True)):
        says = [one.says for one in check_set(load_glyphs(shown, labels=marks.labels)) if one.found]
        assert any("fill a square box" in one for one in says) == lost
