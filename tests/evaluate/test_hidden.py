"""Hidden blur: what resampling itself may cost, told beside the drop."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from gen import parse_recipe, write_strokes
from gen.evaluate.hidden import hidden_variance_px2, probe_cells, with_hidden_blur
from gen.evaluate.score import evaluate
from gen.glyphs.base import Provenance, RasterGlyphs
from gen.render.plan import make_plan

TEXT = """
title = "Half a pixel"
[[sweep]]
perturbation = "translation"
along = "x"
unit = "px"
levels = [-1, -0.5, 0.5, 1]
"""
BLUR = """
[[sweep]]
perturbation = "blur"
unit = "px"
levels = [0.25, 0.5, 1]
"""
# A move of d px with squares of ink adds d (1 - d) px^2 along its axis: 0.25 at a half.
HALF_PX2 = 0.25
MEASURED_PX2 = 0.01


def dots(count: int = 120) -> RasterGlyphs:
    """Class 0 has one lit column of one px, class 1 has two half lit."""
    labels = np.arange(count) % 2
    images = np.zeros((count, 16, 16), np.uint8)
    images[labels == 0, 4:12, 8] = 240
    images[labels == 1, 4:12, 8:10] = 120
    return RasterGlyphs(
        frame=(16, 16),
        labels=labels,
        classes=("sharp", "soft"),
        provenance=Provenance("array", "dots", "dots"),
        writers=None,
        images=images,
    )


def sees_sharpness(x: Any) -> Any:
    """Class by the brightest pixel alone: what only blur can spoil, whatever moves."""
    return (x.max(axis=(1, 2)) < 0.8).astype(int)


def test_half_a_pixel_hides_a_quarter_of_a_square_pixel() -> None:
    plan = make_plan(parse_recipe(TEXT), (16, 16))
    variances = hidden_variance_px2(plan, dots())
    by_level = [variances[cell.name] for cell in plan.sweeps[0].cells if cell.steps]
    assert by_level == pytest.approx([0, HALF_PX2, HALF_PX2, 0], abs=MEASURED_PX2)


def test_strokes_are_drawn_anew_and_hide_nothing() -> None:
    plan = make_plan(parse_recipe(TEXT), (28, 28))
    assert hidden_variance_px2(plan, write_strokes(count=20)) == {}


def test_whole_moves_need_no_probes_and_a_sweep_of_blur_serves_as_one() -> None:
    whole = make_plan(parse_recipe(TEXT.replace("-0.5, 0.5,", "")), (16, 16))
    assert probe_cells(whole, hidden_variance_px2(whole, dots())) == ()
    with_blur = make_plan(parse_recipe(TEXT + BLUR), (16, 16))
    assert probe_cells(with_blur, hidden_variance_px2(with_blur, dots())) == ()
    halves = make_plan(parse_recipe(TEXT), (16, 16))
    probes = probe_cells(halves, hidden_variance_px2(halves, dots()))
    assert [step.level for cell in probes for step in cell.steps] == [0.25, 0.5]


@pytest.mark.parametrize("text", [TEXT, TEXT + BLUR], ids=["probes", "a sweep of blur"])
def test_a_drop_that_blur_alone_makes_is_said_to_be_hidden_blur(text: str) -> None:
    curve = evaluate(sees_sharpness, parse_recipe(text), dots()).curves[0]
    assert [point.accuracy.value for point in curve.points] == [1.0, 0.5, 1.0, 0.5, 1.0]
    assert curve.summary is not None
    assert [hidden.level for hidden in curve.summary.hidden_blur] == [-0.5, 0.5]
    for hidden in curve.summary.hidden_blur:
        assert hidden.sigma_px == pytest.approx(0.5, abs=0.02)
        assert hidden.share > 0.5


def test_a_drop_that_a_move_makes_is_not(bars: Callable[..., RasterGlyphs]) -> None:
    def stands(x: Any) -> Any:
        here = np.stack([x[:, :, 8 * k + 3 : 8 * k + 5] for k in range(3)], axis=1)
        ink = here.sum(axis=(2, 3))
        return np.where(ink.max(axis=1) > 4.0, ink.argmax(axis=1), 0)

    text = TEXT.replace("-1, -0.5, 0.5, 1", "1.5")
    curve = evaluate(stands, parse_recipe(text), bars(120)).curves[0]
    assert curve.points[-1].accuracy.value < 0.5
    assert curve.summary is not None
    assert curve.summary.hidden_blur == ()


def test_hidden_blur_explains_no_more_than_the_whole_of_a_drop_that_is_no_chance() -> None:
    curve = evaluate(sees_sharpness, parse_recipe(TEXT), dots()).curves[0]
    assert curve.summary is not None
    variances = {point.cell: HALF_PX2 for point in curve.points}

    def told(most_px2: float, *, p_holm: float | None = None) -> dict[Any, float]:
        """Share by level, where so much variance costs every glyph that is read."""
        points = curve.points
        if p_holm is not None:
            points = tuple(
                replace(
                    each, difference=each.difference and replace(each.difference, p_holm=p_holm)
                )
                for each in points
            )
        cost = [0.0, most_px2], [0.0, 1.0]
        found = with_hidden_blur(replace(curve, points=points), variances, cost)
        assert found.summary is not None
        return {each.level: each.share for each in found.summary.hidden_blur}

    # Both halves of a px lose half of the glyphs.
    assert told(1.0) == pytest.approx({-0.5: 0.5, 0.5: 0.5})
    assert told(0.3) == {-0.5: 1.0, 0.5: 1.0}
    assert told(0.2) == {}, "nothing is known of what so much blur costs"
    # What rounding puts on the most that resampling can add doesn't keep it untold.
    assert told(0.245) == {-0.5: 1.0, 0.5: 1.0}
    # A tenth of the drop isn't told, a little more is.
    assert told(5.0) == {}
    assert told(4.9) == pytest.approx({-0.5: 0.25 / 4.9 / 0.5, 0.5: 0.25 / 4.9 / 0.5})
    assert told(1.0, p_holm=0.06) == {}
