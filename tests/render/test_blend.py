"""Blends: what a glyph draws is its own, and what is drawn is what is rendered."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import numpy as np
import pytest

from gen.core.errors import LevelError
from gen.glyphs.strokes import write_strokes
from gen.perturb.recipes import parse_recipe
from gen.recipe.model import Recipe
from gen.render.blend import BlendCell
from gen.render.engine import Renderer
from gen.render.plan import NOMINAL, Plan, make_plan
from gen.render.stress_set import write_stress_set
from gen.render.table_sheet import blend_sheet
from tests.render.support import blobs

HEAD = 'title = "Depot"\nseed = 11\n'
MOVE = (
    '[[blend.part]]\nperturbation = "translation"\nunit = "px"\nnormal = {mean = 0.5, sd = 1.5}\n'
)
DOWN = MOVE + 'along = "y"\n'
TURN = (
    '[[blend.part]]\nperturbation = "rotation"\nunit = "deg"\n'
    "triangular = {low = -10, mode = 0, high = 20}\n"
)
BLUR = (
    '[[blend.part]]\nperturbation = "blur"\nunit = "px"\n'
    "discrete = {values = [0, 1], weights = [1, 1]}\n"
)


def recipe(*parts: str, draws: int = 1, head: str = HEAD) -> Recipe:
    return parse_recipe(f'{head}[[blend]]\ntitle = "b"\ndraws = {draws}\n{"".join(parts)}')


def planned(*parts: str, draws: int = 1, head: str = HEAD) -> Plan:
    return make_plan(recipe(*parts, draws=draws, head=head), (28, 28))


def draw_of(plan: Plan, number: int = 0) -> BlendCell:
    return plan.blends[0].cells[number]


def levels(cell: BlendCell, count: int = 2000) -> np.ndarray:
    places = cell.drawn(np.arange(count)).places
    return np.stack(
        [np.array(part.chances.levels)[places[:, i]] for i, part in enumerate(cell.parts)], axis=1
    )


def test_a_blend_has_a_cell_for_each_draw() -> None:
    plan = planned(MOVE, draws=3)
    assert [cell.name for cell in plan.cells] == [
        "nominal",
        "blend-01-draw-1",
        "blend-01-draw-2",
        "blend-01-draw-3",
    ]


def test_the_levels_of_a_seed_stay_what_they_are() -> None:
    # Held fast: these are the levels that the same recipe must draw on any machine.
    cell = draw_of(planned(MOVE, TURN))
    assert [cell.levels_for(index) for index in range(4)] == GOLDEN


def test_a_glyph_alone_draws_what_it_draws_among_others_in_any_order() -> None:
    cell = draw_of(planned(MOVE, TURN, BLUR))
    together = levels(cell, 50)
    for index in (0, 17, 49):
        assert cell.levels_for(index) == tuple(together[index])
    order = np.random.default_rng(0).permutation(50)
    np.testing.assert_array_equal(cell.drawn(order).places, cell.drawn(np.arange(50)).places[order])


def test_another_part_or_draw_changes_no_level() -> None:
    alone = levels(draw_of(planned(MOVE)))
    np.testing.assert_array_equal(levels(draw_of(planned(TURN, MOVE, draws=5)))[:, 1:], alone)


def test_parts_draws_blends_and_seeds_are_drawn_apart() -> None:
    both = planned(MOVE, DOWN, draws=2)
    first, second = levels(draw_of(both)), levels(draw_of(both, 1))
    again = parse_recipe(
        f'{HEAD}[[blend]]\ntitle = "a"\n{TURN}[[blend]]\ntitle = "b"\n{MOVE}{DOWN}'
    )
    later = levels(make_plan(again, (28, 28)).blends[1].cells[0])
    reseeded = levels(draw_of(planned(MOVE, DOWN, head=HEAD.replace("11", "12"))))
    columns = np.concatenate([first, second, later, reseeded], axis=1)
    off_diagonal = np.corrcoef(columns.T)[~np.eye(8, dtype=bool)]
    # Six standard errors of a correlation of nothing, of 2000 pairs.
    assert np.abs(off_diagonal).max() < 6 / np.sqrt(2000)


def test_titles_and_notes_change_no_level() -> None:
    other = parse_recipe(f'{HEAD}[[blend]]\ntitle = "other"\nnote = "n"\n{MOVE}')
    cell = make_plan(other, (28, 28)).blends[0].cells[0]
    np.testing.assert_array_equal(levels(cell), levels(draw_of(planned(MOVE))))


@pytest.mark.parametrize("drawn", [True, False], ids=["strokes", "pictures"])
def test_each_glyph_is_rendered_in_its_own_cell_whatever_the_block(drawn: bool) -> None:
    glyphs = write_strokes(count=24, seed=2) if drawn else blobs(24)
    plan = planned(MOVE, TURN, BLUR)
    renderer, cell = Renderer(plan, glyphs), draw_of(plan)
    whole = renderer.block(np.arange(24)).render(cell)
    for index in (0, 7, 23):
        alone = renderer.block(np.array([index])).render(cell)
        by_cell = renderer.block(np.array([index])).render(cell.cell_for(index))
        np.testing.assert_array_equal(alone.images[0], whole.images[index])
        np.testing.assert_array_equal(by_cell.images[0], whole.images[index])
        assert alone.ink_lost[0] == by_cell.ink_lost[0] == whole.ink_lost[index]
    assert (whole.images != renderer.block(np.arange(24)).nominal).any(axis=(1, 2)).all()


def test_a_glyph_that_draws_nominal_everywhere_is_as_it_is() -> None:
    plan = planned(BLUR)
    cell = draw_of(plan)
    unblurred = levels(cell, 30)[:, 0] == 0
    assert 5 < unblurred.sum() < 25
    assert all((cell.cell_for(i) == NOMINAL) == unblurred[i] for i in range(30))
    block = Renderer(plan, blobs(30)).block(np.arange(30))
    same = (block.render(cell).images == block.nominal).all(axis=(1, 2))
    np.testing.assert_array_equal(same, unblurred)


def test_a_whole_px_move_that_was_drawn_is_seen() -> None:
    part = MOVE.replace("normal = {mean = 0.5, sd = 1.5}", "discrete = {values = [-3, 2]}")
    plan = planned(part)
    glyphs = blobs(20)
    images = Renderer(plan, glyphs).block(np.arange(20)).render(draw_of(plan)).images
    for index, (moved,) in enumerate(levels(draw_of(plan), 20)):
        np.testing.assert_array_equal(
            images[index], np.roll(glyphs.images[index], int(moved), axis=1)
        )


def test_a_normal_distribution_is_clipped_to_the_frame() -> None:
    cell = draw_of(planned(MOVE.replace("sd = 1.5", "sd = 20")))
    drawn = cell.drawn(np.arange(2000))
    assert np.abs(levels(cell)).max() == 27.0
    assert drawn.clipped.any()
    assert (np.abs(levels(cell))[drawn.clipped] == 27.0).all()


@pytest.mark.parametrize(
    "stated", ["uniform = {low = -40, high = 1}", "normal = {mean = 40, sd = 1}"]
)
def test_what_the_frame_cannot_hold_is_refused_with_its_part(stated: str) -> None:
    part = MOVE.replace("normal = {mean = 0.5, sd = 1.5}", stated)
    with pytest.raises(LevelError, match=r"recipe:\d+: blend 1, part 2: a level is out of range"):
        planned(TURN, part)


def test_a_blend_that_a_frame_makes_no_sense_of_is_left_out_and_named() -> None:
    swap = TURN.replace('"rotation"', '"axis-swap"').replace('"deg"', '"times"')
    swap = swap.replace(
        "triangular = {low = -10, mode = 0, high = 20}", "discrete = {values = [1]}"
    )
    two = recipe(MOVE, swap)
    sweep = '[[sweep]]\nperturbation = "blur"\nunit = "px"\nlevels = [1]\n'
    plan = make_plan(parse_recipe(two.text + sweep), (20, 28))
    assert not plan.blends
    assert plan.left_out[0].startswith('blend 1, "b": axis swap: ')


def test_a_stress_set_has_the_levels_of_each_draw(tmp_path: Path) -> None:
    parts = (MOVE.replace('"px"', '"mm"').replace("sd = 1.5", "sd = 2"), BLUR)
    asked = recipe(*parts, draws=2, head=f"{HEAD}scan_dpi = 254\n")
    manifest = write_stress_set(asked, blobs(30), tmp_path / "set")
    plan = make_plan(asked, (28, 28))
    for cell, entry in zip(plan.blends[0].cells, manifest["cells"][1:], strict=True):
        path = tmp_path / "set" / "cells" / f"{cell.name}-levels.csv"
        assert f"cells/{path.name}" in [file["path"] for file in entry["files"]]
        head, *rows = csv.reader(path.read_text("utf-8").splitlines())
        assert head == [
            "glyph",
            "translation along x (mm)",
            "translation along x (px)",
            "blur (px)",
        ]
        for index, row in enumerate(rows):
            moved, blurred = cell.levels_for(index)
            # 254 dpi: ten px to the mm.
            assert [float(word) for word in row] == [index, moved, moved * 10, blurred]
        clipped = cell.drawn(np.arange(30)).clipped.sum(axis=0)
        assert entry["clipped"] == clipped.tolist()
        assert clipped[0] > 0
    said = manifest["blends"][0]
    assert said["cells"] == ["blend-01-draw-1", "blend-01-draw-2"]
    assert said["parts"][0]["px_per_unit"] == 10.0
    assert said["parts"][0]["clipped_share"] > 0.01
    assert (tmp_path / "set" / said["sheet"]).exists()
    assert json.loads((tmp_path / "set" / "manifest.json").read_text("utf-8")) == manifest


def test_blocks_and_workers_change_no_byte_of_a_blend(tmp_path: Path) -> None:
    asked, glyphs = recipe(MOVE, TURN, draws=3), write_strokes(count=20, seed=4)
    one = write_stress_set(asked, glyphs, tmp_path / "one")
    other = write_stress_set(asked, glyphs, tmp_path / "other", workers=2, block=7)
    assert one == other


def test_the_sheet_shows_each_glyph_as_it_is_and_as_drawn() -> None:
    plan = planned(MOVE, draws=2)
    sheet = blend_sheet(Renderer(plan, blobs(4)), plan.blends[0], np.arange(4))
    more = blend_sheet(Renderer(plan, blobs(4)), plan.blends[0], np.arange(3))
    # A row is a glyph of twice 28 px and a gap.
    assert sheet.shape[0] - more.shape[0] == 2 * 28 + 8
    assert sheet.shape[1] >= 3 * 2 * 28


GOLDEN = [(-1.34375, 13.40625), (-0.109375, 14.703125), (-0.484375, 10.359375), (1.8125, -1.890625)]
