"""Grids: every pair of levels once, each pixel as its two steps make it."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from gen.core.errors import LevelError
from gen.perturb.recipes import parse_recipe
from gen.recipe.model import Recipe
from gen.render.engine import Renderer
from gen.render.plan import NOMINAL, make_plan
from gen.render.stress_set import write_stress_set
from gen.render.table_sheet import grid_sheet
from tests.render.support import blobs, dot

FRAME = (28, 28)
MOVES = (
    'title = "Crates"\n[[grid]]\n'
    'down = {perturbation = "translation", along = "y", unit = "px", levels = [-1, 2]}\n'
    'across = {perturbation = "translation", along = "x", unit = "px", levels = [0, 3, 5]}\n'
)
SWEEP = '[[sweep]]\nperturbation = "translation"\nunit = "px"\nlevels = [3]\n'


def moves(more: str = "") -> Recipe:
    return parse_recipe(MOVES + more)


def test_every_pair_of_levels_has_a_cell_and_nominal_is_put_in() -> None:
    plan = make_plan(moves(), FRAME)
    (grid,) = plan.grids
    assert grid.title == "translation along y by translation along x"
    assert (grid.down.levels, grid.across.levels) == ((-1.0, 0.0, 2.0), (0.0, 3.0, 5.0))
    assert [len(row) for row in grid.cells] == [3, 3, 3]
    assert grid.cells[1][0] is NOMINAL
    assert [len(cell.steps) for row in grid.cells for cell in row] == [1, 2, 2, 0, 1, 1, 1, 2, 2]
    assert len(plan.cells) == 9
    assert len({cell.name for cell in plan.cells}) == 9


def test_a_cell_that_a_sweep_has_too_is_rendered_once() -> None:
    plan = make_plan(moves(SWEEP), FRAME)
    assert plan.grids[0].cells[1][1] is plan.sweeps[0].cells[1]
    assert len(plan.cells) == 9


def test_two_grids_share_the_cells_that_both_have() -> None:
    plan = make_plan(moves(MOVES.partition("\n")[2].replace("[-1, 2]", "[-1, 4]")), FRAME)
    first, second = plan.grids
    assert first.cells[0] == second.cells[0]
    assert len(plan.cells) == 9 + 3


def test_each_side_alone_is_the_other_at_nominal() -> None:
    (grid,) = make_plan(moves(), FRAME).grids
    assert grid.down.cells == tuple(row[0] for row in grid.cells)
    assert grid.across.cells == grid.cells[1]


def test_a_dot_lands_where_both_steps_move_it() -> None:
    glyphs = dot(10, 12, FRAME)
    plan = make_plan(moves(), FRAME)
    block = Renderer(plan, glyphs).block(np.array([0]))
    (grid,) = plan.grids
    for down, row in zip(grid.down.levels, grid.cells, strict=True):
        for across, cell in zip(grid.across.levels, row, strict=True):
            (where,) = np.argwhere(block.render(cell).images[0])
            assert where.tolist() == [10 + int(float(down)), 12 + int(float(across))]


def test_physics_orders_the_sides_and_not_the_recipe() -> None:
    turn = 'down = {perturbation = "rotation", unit = "deg", levels = [30]}\n'
    blur = 'across = {perturbation = "blur", unit = "px", levels = [1]}\n'
    swapped = turn.replace("down", "across") + blur.replace("across", "down")
    images = []
    for text in (turn + blur, swapped):
        plan = make_plan(parse_recipe(f'title = "a"\n[[grid]]\n{text}'), FRAME)
        block = Renderer(plan, blobs(3)).block(np.arange(3))
        images.append(block.render(plan.grids[0].cells[1][1]).images)
    np.testing.assert_array_equal(images[0], images[1])


def test_a_level_that_the_frame_cannot_hold_is_refused_with_its_side() -> None:
    with pytest.raises(LevelError, match=r"recipe:4: grid 1, across: a level is out of range"):
        make_plan(parse_recipe(MOVES.replace("[0, 3, 5]", "[30]")), FRAME)


def test_a_grid_that_a_frame_makes_no_sense_of_is_left_out_and_named() -> None:
    swap = 'down = {perturbation = "axis-swap", unit = "times", levels = [1]}'
    text = MOVES.partition("down")[0] + swap + "\n" + MOVES[MOVES.index("across") :] + SWEEP
    plan = make_plan(parse_recipe(text), (20, 28))
    assert not plan.grids
    assert plan.left_out[0].startswith("grid 1: axis swap: ")
    assert len(plan.sweeps) == 1


def test_the_sheet_has_a_row_a_level_down_and_a_column_a_level_across() -> None:
    plan = make_plan(moves(), FRAME)
    renderer = Renderer(plan, blobs(2))
    (grid,) = plan.grids
    sheet = grid_sheet(renderer, grid, 1)
    block = renderer.block(np.array([1]))
    # Each mark is there once, at twice its size, dark on white.
    found = [[place_of(block.render(cell).images[0], sheet) for cell in row] for row in grid.cells]
    tops = [{y for y, _ in row} for row in found]
    assert [len(top) for top in tops] == [1, 1, 1]
    assert sorted(tops, key=min) == tops
    assert [[x for _, x in row] for row in found] == [sorted(x for _, x in found[0])] * 3


def place_of(image: np.ndarray, sheet: np.ndarray) -> tuple[int, int]:
    """Where a mark is on a sheet, (y, x); it must be there just once."""
    mark = 255 - image.repeat(2, 0).repeat(2, 1)
    windows = np.lib.stride_tricks.sliding_window_view(sheet, mark.shape)
    likely = np.argwhere((windows[:, :, ::9, ::9] == mark[::9, ::9]).all(axis=(2, 3)))
    ((y, x),) = (at for at in likely if (windows[tuple(at)] == mark).all())
    return int(y), int(x)


def test_a_stress_set_has_the_grid_in_its_manifest(tmp_path: Path) -> None:
    manifest = write_stress_set(moves(SWEEP), blobs(3), tmp_path / "set")
    (grid,) = manifest["grids"]
    names = [cell["name"] for cell in manifest["cells"]]
    assert {name for row in grid["cells"] for name in row} == set(names)
    assert grid["down"]["levels"] == [-1.0, 0.0, 2.0]
    assert (tmp_path / "set" / grid["sheet"]).exists()
    held = np.load(tmp_path / "set" / "cells" / f"{grid['cells'][2][1]}.npz")
    np.testing.assert_array_equal(held["images"], np.roll(blobs(3).images, (2, 3), axis=(1, 2)))
