"""What every perturbation is held to, whichever it is: a new one is held to it at once."""

from __future__ import annotations

import re

import numpy as np
import pytest

from gen.core.errors import LevelError
from gen.glyphs.base import Glyphs, RasterGlyphs
from gen.glyphs.strokes import write_strokes
from gen.perturb import CATALOGUE, PERTURBATIONS
from gen.perturb.base import STATIONS
from gen.recipe.model import Level, Recipe, Unit
from gen.render.engine import Renderer
from gen.render.plan import Cell, Step, make_plan
from tests.render.support import blobs, sweep

CASES = [(name, unit) for name, entry in CATALOGUE.items() for unit in entry.units]
AMOUNTS = [(name, unit) for name, unit in CASES if not unit.names]
# A switch or a blur of no width has no operator that could be carried out at nominal.
WITH_NOMINAL_OPERATOR = [
    (name, unit) for name, unit in AMOUNTS if unit.name != "times" and name != "blur"
]


def named(value: object) -> str:
    """Names for the cases: the perturbation, the unit."""
    return value.name if isinstance(value, Unit) else str(value)


SOURCES = {
    "pictures": lambda: blobs(12),
    "strokes": lambda: write_strokes(classes="0123456789", count=12, seed=4),
}


def some_levels(name: str, unit: Unit) -> list[Level]:
    """A few levels that aren't nominal, near the ends of the range and in between."""
    if unit.names:
        return [level for level in unit.names if level != unit.nominal]
    perturbation = PERTURBATIONS[name]
    options = {option.name: option.default for option in perturbation.entry.options}
    low, high = perturbation.limits(unit, options, (28, 28))
    assert not isinstance(unit.nominal, str)
    between = [low, (low + unit.nominal) / 2, (unit.nominal + high) / 4, high]
    if unit.whole:
        between = [float(round(level)) for level in between]
    return sorted({level for level in between if level != unit.nominal})


@pytest.fixture(params=SOURCES)
def glyphs(request: pytest.FixtureRequest) -> Glyphs:
    made: Glyphs = SOURCES[request.param]()
    return made


@pytest.mark.parametrize(("name", "unit"), CASES, ids=named)
def test_nominal_is_the_identity_byte_for_byte(name: str, unit: Unit, glyphs: Glyphs) -> None:
    levels = [*some_levels(name, unit), unit.nominal]
    plan = make_plan(Recipe("", "", 0, (sweep(name, levels, unit=unit.name),)), glyphs.frame)
    block = Renderer(plan, glyphs).block(np.arange(len(glyphs)))
    planned = plan.sweeps[0]
    seen = block.render(planned.cells[planned.levels.index(unit.nominal)])
    assert seen.images.tobytes() == block.nominal.tobytes()
    assert not seen.ink_lost.any()


@pytest.mark.parametrize(("name", "unit"), WITH_NOMINAL_OPERATOR, ids=named)
def test_a_step_at_nominal_carried_out_all_the_same_changes_nothing(
    name: str, unit: Unit, glyphs: Glyphs
) -> None:
    """The plan leaves nominal steps out; the operators themselves must agree with it."""
    options = tuple(sorted((o.name, o.default) for o in CATALOGUE[name].options))
    plan = make_plan(Recipe("", "", 0, ()), glyphs.frame)
    block = Renderer(plan, glyphs).block(np.arange(len(glyphs)))
    cell = Cell("nominal, done", (Step(name, unit.name, unit.nominal, options),))
    assert block.render(cell).images.tobytes() == block.nominal.tobytes()


@pytest.mark.parametrize(("name", "unit"), CASES, ids=named)
def test_every_level_changes_something(name: str, unit: Unit, glyphs: Glyphs) -> None:
    plan = make_plan(
        Recipe("", "", 0, (sweep(name, some_levels(name, unit), unit=unit.name),)), glyphs.frame
    )
    block = Renderer(plan, glyphs).block(np.arange(len(glyphs)))
    for cell in plan.cells[1:]:
        assert block.render(cell).images.tobytes() != block.nominal.tobytes(), cell.name


@pytest.mark.parametrize(("name", "unit"), CASES, ids=named)
def test_a_glyph_alone_looks_as_it_does_in_a_batch(name: str, unit: Unit, glyphs: Glyphs) -> None:
    plan = make_plan(
        Recipe("", "", 0, (sweep(name, some_levels(name, unit), unit=unit.name),)), glyphs.frame
    )
    renderer = Renderer(plan, glyphs)
    together = renderer.block(np.arange(len(glyphs)))
    alone = renderer.block(np.array([7]))
    for cell in plan.cells:
        assert (
            alone.render(cell).images[0].tobytes() == together.render(cell).images[7].tobytes()
        ), cell.name


@pytest.mark.parametrize(("name", "unit"), AMOUNTS, ids=named)
def test_a_level_out_of_range_is_refused_with_the_range_named(name: str, unit: Unit) -> None:
    perturbation = PERTURBATIONS[name]
    options = {option.name: option.default for option in perturbation.entry.options}
    low, high = perturbation.limits(unit, options, (28, 28))
    for level in (low - 1, high + 1):
        plan = Recipe("", "", 0, (sweep(name, [level], unit=unit.name),))
        with pytest.raises(
            LevelError, match=rf"out of range[\s\S]*{low:g} to {re.escape(f'{high:g}')}"
        ):
            make_plan(plan, (28, 28))


@pytest.mark.parametrize("name", list(CATALOGUE))
def test_an_entry_says_what_it_must(name: str) -> None:
    entry = CATALOGUE[name]
    assert entry.station in STATIONS
    assert entry.meaning and entry.units
    for option in entry.options:
        assert option.meaning, option.name
        assert option.choices or option.low is not None


@pytest.mark.parametrize(("name", "unit"), CASES, ids=named)
def test_a_cause_is_a_clause_and_tells_the_two_sides_apart(name: str, unit: Unit) -> None:
    perturbation = PERTURBATIONS[name]
    options = {option.name: option.default for option in perturbation.entry.options}
    said = {
        perturbation.cause(level, unit=unit.name, options=options)
        for level in some_levels(name, unit)
    }
    assert all(clause[0].islower() and not clause.endswith(".") for clause in said)
    assert not any('"' in clause for clause in said)  # a sentence has curly quotes
    assert len(said) == len(some_levels(name, unit))


def test_swapped_axes_need_a_square_frame() -> None:
    with pytest.raises(LevelError, match="square frame"):
        make_plan(Recipe("", "", 0, (sweep("axis-swap", [1.0]),)), (28, 20))


DRAWN = ["dry-pen", "occlusion", "noise"]
"""What is drawn by lot, and so depends on the recipe's seed."""


@pytest.mark.parametrize(("name", "unit"), CASES, ids=named)
def test_the_same_seed_gives_the_same_bytes_and_another_only_where_lots_are_drawn(
    name: str, unit: Unit, glyphs: Glyphs
) -> None:
    def seen(seed: int) -> bytes:
        level = some_levels(name, unit)[0]
        plan = make_plan(Recipe("", "", seed, (sweep(name, [level], unit=unit.name),)), (28, 28))
        cell = next(cell for cell in plan.cells if cell.steps)
        return Renderer(plan, glyphs).block(np.arange(len(glyphs))).render(cell).images.tobytes()

    assert seen(5) == seen(5)
    assert (seen(5) != seen(6)) == (name in DRAWN)


@pytest.mark.parametrize("name", DRAWN)
def test_no_two_glyphs_draw_the_same_lots(name: str) -> None:
    """Twelve times one picture comes out as twelve pictures."""
    one = RasterGlyphs(**(vars(blobs(12)) | {"images": np.repeat(blobs(1).images, 12, axis=0)}))
    level = some_levels(name, CATALOGUE[name].units[0])[0]
    plan = make_plan(Recipe("", "", 0, (sweep(name, [level]),)), (28, 28))
    seen = Renderer(plan, one).block(np.arange(12)).render(plan.cells[-1]).images
    assert len({picture.tobytes() for picture in seen}) > 9
