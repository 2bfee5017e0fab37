"""The same bytes everywhere: pixels against committed digests, whatever the threads."""

from __future__ import annotations

import json

import numpy as np
import pytest
from threadpoolctl import threadpool_limits  # comes with scikit-learn

from gen.recipe.model import Recipe, Unit
from gen.render.engine import Renderer
from gen.render.plan import make_plan
from tests.render import golden
from tests.render.support import sweep

COMMITTED = json.loads(golden.FILE.read_text("utf-8"))


@pytest.mark.parametrize(
    ("kind", "name", "unit"), golden.cases(), ids=[golden.key(*case) for case in golden.cases()]
)
def test_pixels_are_what_they_were(kind: str, name: str, unit: Unit) -> None:
    assert golden.digest(kind, name, unit) == COMMITTED[golden.key(kind, name, unit)]


def test_every_perturbation_has_a_digest_and_every_digest_a_perturbation() -> None:
    assert set(COMMITTED) == {golden.key(*case) for case in golden.cases()}


@pytest.mark.parametrize("kind", golden.SOURCES)
def test_no_two_perturbations_come_to_the_same_pixels(kind: str) -> None:
    digests = [COMMITTED[golden.key(*case)] for case in golden.cases() if case[0] == kind]
    assert len(set(digests)) == len(digests)


@pytest.mark.parametrize("name", list(golden.CATALOGUE))
def test_strokes_differ_from_their_pictures_in_ink_and_pose_alone(name: str) -> None:
    entry = golden.CATALOGUE[name]
    same = {
        COMMITTED[golden.key("strokes", name, unit)]
        == COMMITTED[golden.key("pictures", name, unit)]
        for unit in entry.units
    }
    assert same == {entry.station not in ("ink", "pose")}


@pytest.mark.parametrize("threads", [1, 2])
@pytest.mark.parametrize("name", ["blur", "rotation", "placement", "jpeg"])
def test_the_number_of_threads_changes_nothing(name: str, threads: int) -> None:
    unit = golden.CATALOGUE[name].units[0]
    with threadpool_limits(threads):
        assert (
            golden.digest("pictures", name, unit) == COMMITTED[golden.key("pictures", name, unit)]
        )


@pytest.mark.parametrize("size", [1, 7])
def test_the_size_of_a_block_and_the_order_of_cells_change_nothing(size: int) -> None:
    glyphs = golden.source("pictures")
    names = [("rotation", [-7.5, 20.0]), ("blur", [1.3]), ("stroke-width", [-0.5, 1.0])]
    plan = make_plan(
        Recipe("", "", 0, tuple(sweep(name, levels) for name, levels in names)), glyphs.frame
    )
    whole = Renderer(plan, glyphs).block(np.arange(golden.COUNT))
    renderer = Renderer(plan, glyphs)
    for cell in reversed(plan.cells):
        parts = [
            renderer.block(np.arange(start, min(start + size, golden.COUNT))).render(cell).images
            for start in range(0, golden.COUNT, size)
        ]
        assert np.concatenate(parts).tobytes() == whole.render(cell).images.tobytes(), cell.name
