"""Plans: lengths on paper in px, and what a report can't score."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from gen.core.errors import LevelError
from gen.evaluate.score import evaluate
from gen.perturb.recipes import parse_recipe
from gen.render.engine import Renderer
from gen.render.plan import make_plan
from gen.render.stress_set import write_stress_set
from gen.report.causes import cause
from tests.render.support import blobs

FRAME = (28, 28)
MM = (
    'title = "Paper"\nscan_dpi = 254\n[[sweep]]\nperturbation = "translation"\n'
    'unit = "mm"\nlevels = [-0.2, 0.1, 0.25]\n'
)
GRID = (
    '[[grid]]\ndown = {perturbation = "rotation", unit = "deg", levels = [5]}\n'
    'across = {perturbation = "blur", unit = "px", levels = [1]}\n'
)
BLEND = (
    '[[blend]]\ntitle = "b"\ndraws = 2\n[[blend.part]]\nperturbation = "blur"\nunit = "px"\n'
    "uniform = {low = 0, high = 1}\n"
)


def test_a_length_on_paper_is_planned_in_px_and_shown_as_written() -> None:
    (sweep,) = make_plan(parse_recipe(MM), FRAME).sweeps
    assert sweep.levels == (-0.2, 0.0, 0.1, 0.25)
    assert sweep.levels_px == (-2.0, 0.0, 1.0, 2.5)
    assert [cell.name for cell in sweep.cells][::3] == [
        "01-translation-along-x-0.2mm",
        "01-translation-along-x+0.25mm",
    ]
    steps = [step for cell in sweep.cells for step in cell.steps]
    assert [(step.unit, step.level) for step in steps] == [("px", -2.0), ("px", 1.0), ("px", 2.5)]
    assert sweep.limits(FRAME) == (-2.7, 2.7)


@pytest.mark.parametrize(
    ("perturbation", "unit", "level", "px"),
    [
        ("translation", "mm", 0.15, 1.5),
        ("stroke-width", "height", 0.05, 1.0),
        ("blur", "mm", 0.1, 1),
    ],
)
def test_a_length_on_paper_gives_the_bytes_of_its_px(
    perturbation: str, unit: str, level: float, px: float
) -> None:
    seen = []
    for name, amount in ((unit, level), ("px", px)):
        text = (
            'title = "a"\nscan_dpi = 254\nglyph_height_px = 20\n'
            f'[[sweep]]\nperturbation = "{perturbation}"\nunit = "{name}"\nlevels = [{amount}]\n'
        )
        plan = make_plan(parse_recipe(text), FRAME)
        seen.append(Renderer(plan, blobs(4)).block(np.arange(4)).render(plan.cells[1]).images)
    np.testing.assert_array_equal(seen[0], seen[1])
    assert (seen[0] != blobs(4).images).any()


def test_a_length_that_the_frame_cannot_hold_is_told_as_written_and_in_px() -> None:
    with pytest.raises(LevelError, match=r"(?s)3 mm, which is 30 px.*-27 to 27 px"):
        make_plan(parse_recipe(MM.replace("0.25", "3")), FRAME)


def test_the_manifest_has_lengths_as_written_and_in_px(tmp_path: Path) -> None:
    manifest = write_stress_set(parse_recipe(MM), blobs(3), tmp_path / "set")
    (sweep,) = manifest["sweeps"]
    assert (sweep["unit"], sweep["levels"][0], sweep["levels_px"][0]) == ("mm", -0.2, -2.0)
    assert manifest["recipe"]["lengths"] == {"scan_dpi": 254.0}


def test_lengths_on_paper_are_told_in_px_where_causes_need_them() -> None:
    glyphs = blobs(12)

    def always_first(pictures: np.ndarray) -> np.ndarray:
        return np.zeros(len(pictures), int)

    found = evaluate(always_first, parse_recipe(MM + GRID + BLEND), glyphs)
    assert len(found.curves) == 1
    curve = found.curves[0]
    assert (curve.unit, curve.px_per_unit) == ("mm", 10.0)
    # A decoder's bytes are px: the cause speaks of 2 px, which -0.2 mm are.
    assert "2 px further left" in cause(curve, -0.2)


def test_the_digest_of_a_recipe_pins_grids_blends_and_the_resolution_that_is_used() -> None:
    base = parse_recipe(MM)
    texts = [
        MM + GRID,
        MM + BLEND,
        MM + GRID.replace("[5]", "[6]"),
        MM + BLEND.replace("high = 1", "high = 2"),
        MM + BLEND.replace("draws = 2", "draws = 3"),
        MM + BLEND + "step = 0.5\n",
        MM.replace("254", "300"),
    ]
    digests = [parse_recipe(text).digest for text in texts]
    assert len({base.digest, *digests}) == len(texts) + 1
    said = [MM + GRID + 'note = "n"\n', MM + BLEND.replace('"b"', '"other"')]
    assert [parse_recipe(text).digest for text in said] == digests[:2]
    unused = parse_recipe(MM.replace("254", "254\nglyph_height_px = 20"))
    assert unused.digest == base.digest
