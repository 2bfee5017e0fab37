"""Grids as maps and blends as forecasts, of readers whose truth was planted."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from gen import parse_recipe
from gen.evaluate.bootstrap import Resampled
from gen.evaluate.family import Family
from gen.evaluate.forecast import ask, make_forecast, part_cells
from gen.evaluate.points import Points
from gen.evaluate.score import evaluate, score
from gen.glyphs.base import RasterGlyphs
from gen.render.plan import make_plan

Bars = Callable[..., RasterGlyphs]

GRID = """
title = "Both ways"
[[grid]]
[grid.down]
perturbation = "translation"
along = "y"
unit = "px"
levels = [-1, 0, 1]
[grid.across]
perturbation = "translation"
along = "x"
unit = "px"
levels = [0, 2]
"""

BLEND = """
title = "What the shed does"
[[blend]]
title = "A season"
draws = {draws}
[[blend.part]]
perturbation = "translation"
along = "x"
unit = "px"
discrete = {{values = [0, 3], weights = [3, 1]}}
[[blend.part]]
perturbation = "translation"
along = "y"
unit = "px"
discrete = {{values = [0, 4], weights = [4, 1]}}
[[blend.part]]
perturbation = "ink-polarity"
unit = "times"
discrete = {{values = [0, 1], weights = [99, 1]}}
"""


def reads_where_it_was_taught(x: Any) -> Any:
    """Right unless the bar has left its two columns, or its five rows by more than two."""
    stands = np.stack([x[:, 2:7, 8 * k + 3 : 8 * k + 5] for k in range(3)], axis=1)
    ink = stands.sum(axis=(2, 3))
    return np.where(ink.max(axis=1) > 4.0, ink.argmax(axis=1), 0)


def test_a_grid_is_a_map_with_a_point_for_each_pair(bars: Bars) -> None:
    found = evaluate(reads_where_it_was_taught, parse_recipe(GRID), bars(90))
    (grid,) = found.grids
    assert (grid.down.levels, grid.across.levels) == ((-1.0, 0.0, 1.0), (0.0, 2.0))
    accuracies = [[p.accuracy.value for p in row if p is not None] for row in grid.points]
    assert accuracies == [[1.0, pytest.approx(1 / 3)]] * 3
    assert grid.points[1][0] is not None
    assert grid.points[1][0].difference is None, "that is nominal itself"
    corner = grid.points[0][1]
    assert corner is not None
    assert corner.difference is not None
    # Holm over the five cells that aren't nominal; three of them are equally clear.
    assert corner.difference.p_holm == pytest.approx(5 * corner.difference.p_value)


def test_a_blend_is_one_forecast_whose_loss_is_split(bars: Bars) -> None:
    glyphs = bars(3000)
    found = evaluate(reads_where_it_was_taught, parse_recipe(BLEND.format(draws=1)), glyphs)
    (forecast,) = found.blends
    # Two thirds of the glyphs are of a class that is lost by a move: 1/4 are moved along x, and
    # 1/5 along y.
    lost = 2 / 3 * (1 - 0.75 * 0.8 * 0.99)
    assert forecast.accuracy.value == pytest.approx(1 - lost, abs=0.03)
    assert forecast.accuracy.low < 1 - lost < forecast.accuracy.high
    assert forecast.accuracy.method == "Wilson score"
    assert forecast.cells == ("blend-01-draw-1",)
    along_x, along_y, polarity = forecast.parts
    assert along_x.alone.value == pytest.approx(-2 / 3 / 4, abs=0.03)
    assert along_y.alone.value == pytest.approx(-2 / 3 / 5, abs=0.03)
    assert along_x.share is not None
    assert along_y.share is not None
    assert polarity.share is not None
    assert along_x.share > along_y.share > polarity.share
    # What three or more parts do together belongs to none of them: here next to nothing.
    assert along_x.share + along_y.share + polarity.share == pytest.approx(1, abs=0.02)
    # Without a part, glyphs that it alone has spoilt are read again.
    assert along_x.without.value < 0


def test_the_parts_of_a_blend_draw_alone_what_they_draw_together(bars: Bars) -> None:
    glyphs = bars(400)
    scored = score(reads_where_it_was_taught, parse_recipe(BLEND.format(draws=1)), glyphs)
    sheet = scored.sheet
    whole = sheet.right(["blend-01-draw-1"])[0]
    alone = sheet.right([f"blend-01-draw-1-part-{k}-alone" for k in (1, 2)])
    # A glyph whose moves are harmless one by one and whose ink is as it was is read in the blend.
    assert whole[alone.all(axis=0) & sheet.right(["blend-01-draw-1-part-3-alone"])[0]].all()


def test_more_draws_narrow_the_interval_and_are_resampled_by_glyph(bars: Bars) -> None:
    glyphs = bars(600)
    few, many = (
        evaluate(reads_where_it_was_taught, parse_recipe(BLEND.format(draws=draws)), glyphs)
        .blends[0]
        .accuracy
        for draws in (1, 8)
    )
    assert (few.n, many.n) == (600, 4800)
    assert many.method.startswith("expanded bootstrap percentile")
    assert many.high - many.low < few.high - few.low
    # Draws of one glyph hang together, so eight are worth less than eight times the glyphs.
    as_if_apart = 2 * 1.96 * np.sqrt(many.value * (1 - many.value) / many.n)
    assert many.high - many.low > 1.2 * as_if_apart


def test_parts_that_each_do_all_the_harm_share_it(bars: Bars) -> None:
    """Either move alone spoils what both do: alone they cost all, left out they cost nothing."""
    text = BLEND.format(draws=1).split("[[blend.part]]")
    always = [
        part.replace("values = [0, 3], weights = [3, 1]", "values = [3], weights = [1]").replace(
            "values = [0, 4], weights = [4, 1]", "values = [4], weights = [1]"
        )
        for part in text[:3]
    ]
    found = evaluate(
        reads_where_it_was_taught, parse_recipe("[[blend.part]]".join(always)), bars(90)
    )
    (forecast,) = found.blends
    assert forecast.loss.value == pytest.approx(-2 / 3)
    for part in forecast.parts:
        assert part.alone.value == pytest.approx(-2 / 3)
        assert part.without.value == 0.0
        assert part.share == pytest.approx(0.5)


def test_a_blend_of_one_part_is_one_test(bars: Bars) -> None:
    text = "[[blend.part]]".join(BLEND.format(draws=1).split("[[blend.part]]")[:2])
    (forecast,) = evaluate(reads_where_it_was_taught, parse_recipe(text), bars(90)).blends
    assert forecast.loss.p_holm == forecast.loss.p_value < 1
    (part,) = forecast.parts
    assert part.alone == part.without == forecast.loss
    assert part.share == 1.0


def test_a_part_that_the_model_failed_at_alone_has_no_share(bars: Bars) -> None:
    glyphs, recipe = bars(90), parse_recipe(BLEND.format(draws=1))
    plan = make_plan(recipe, glyphs.frame)
    (blend,) = plan.blends
    parts = part_cells(blend, plan.cells[0])
    whole = score(reads_where_it_was_taught, recipe, glyphs, extras=False)
    sheet = whole.sheet
    sheet.fail(parts[1].alone.name, "the lamp went out")
    family = Family(sheet)
    ask(blend, parts, sheet, family)
    family.settle()
    found = make_forecast(blend, parts, Points(sheet, family), Resampled.of(90, draws=10))
    assert found is not None
    titles = [part.title for part in whole.evaluation.blends[0].parts]
    assert [part.title for part in found.parts] == [titles[0], titles[2]]


@pytest.mark.parametrize(("stays", "told"), [(19, False), (3, True)])
def test_a_part_has_no_share_of_a_loss_that_may_be_none(bars: Bars, stays: int, told: bool) -> None:
    text = BLEND.format(draws=1).replace("weights = [3, 1]", f"weights = [{stays}, 1]")
    text = text.replace("weights = [4, 1]", "weights = [999, 1]")
    (forecast,) = evaluate(reads_where_it_was_taught, parse_recipe(text), bars(90)).blends
    assert forecast.loss.value < 0
    assert (forecast.loss.high < 0) is told
    assert all((part.share is not None) is told for part in forecast.parts)


def test_draws_that_are_all_read_rightly_tell_as_much_as_their_glyphs(bars: Bars) -> None:
    found = evaluate(lambda x: np.arange(len(x)) % 3, parse_recipe(BLEND.format(draws=4)), bars(90))
    accuracy = found.blends[0].accuracy
    assert (accuracy.correct, accuracy.n, accuracy.high) == (360, 360, 1.0)
    # Wilson's lower end where all n are right: n / (n + z^2)
    assert accuracy.low == pytest.approx(90 / (90 + 1.959964**2), abs=1e-6)
    assert accuracy.method == "Wilson score, for 90 glyphs"
