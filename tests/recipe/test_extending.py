"""What comes of a recipe that extends another, and of what it leaves out."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from gen.perturb import CATALOGUE
from gen.perturb.recipes import parse_recipe as parse_with_all
from gen.perturb.recipes import read_recipe as read_shipped
from gen.recipe import shelf
from gen.recipe.model import Catalogue, Recipe, Requirement, Sweep
from gen.recipe.reader import parse_recipe, read_recipe
from gen.recipe.shelf import find_recipe, shelf_folder, shelf_names

Written = Callable[..., Recipe]

BASE = """
title = "Base"
note = "From the base."
seed = 5

[[sweep]]
perturbation = "blur"
unit = "px"
levels = [0, 1]
note = "out of focus"

[[sweep]]
perturbation = "translation"
unit = "px"
levels = [-2, 0, 2]

[[sweep]]
perturbation = "translation"
along = "y"
unit = "px"
levels = [-3, 0, 3]

[[grid]]
down = {perturbation = "rotation", unit = "deg", levels = [0, 5]}
across = {perturbation = "blur", unit = "px", levels = [0, 1]}

[[blend]]
title = "Belt"
part = [{perturbation = "blur", unit = "px", uniform = {low = 0, high = 1}}]

[[require]]
nominal = true
keeps = 0.9

[[require]]
perturbation = "translation"
unit = "px"
within = 2
drop = 0.1

[[require]]
blend = "Belt"
keeps = 0.8
"""
# As it stood before recipes could extend one another; also in demo_output.
FIRST_LOOK = "e93ab39d9bf2a6c24386069b80755e31e3c985e8421f924815a2d7c3746871dc"
EXTENDS = 'extends = "base.toml"\ntitle = "Mine"\n'


def sweep(perturbation: str, levels: str, *, unit: str = "px", more: str = "") -> str:
    """One sweep as a text."""
    return (
        f'[[sweep]]\nperturbation = "{perturbation}"\nunit = "{unit}"\nlevels = {levels}\n{more}\n'
    )


@pytest.fixture
def over(tmp_path: Path, catalogue: Catalogue) -> Written:
    """Reads a recipe that is written over the base."""

    def read(text: str, base: str = BASE) -> Recipe:
        (tmp_path / "base.toml").write_text(base)
        (tmp_path / "mine.toml").write_text(EXTENDS + text)
        return read_recipe(tmp_path / "mine.toml", catalogue)

    return read


def swept(recipe: Recipe) -> list[tuple[str, object, tuple[object, ...]]]:
    return [(s.perturbation, s.option("along"), s.levels) for s in recipe.sweeps]


def test_a_recipe_that_adds_nothing_is_the_base_under_another_title(
    over: Written, catalogue: Catalogue
) -> None:
    base = parse_recipe(BASE, catalogue)
    mine = over("")
    assert mine.title == "Mine"
    assert mine.digest == base.digest
    assert (mine.note, mine.seed, mine.sweeps) == (base.note, base.seed, base.sweeps)
    assert (mine.grids, mine.blends, mine.requirements) == (
        base.grids,
        base.blends,
        base.requirements,
    )


def test_a_key_at_the_top_replaces_that_of_the_base(over: Written) -> None:
    mine = over('seed = 6\nnote = ""\n')
    assert (mine.seed, mine.note) == (6, "")


def test_a_sweep_of_the_same_perturbation_and_options_stands_where_the_base_has_it(
    over: Written,
) -> None:
    mine = over(sweep("translation", "[-2, 0, 2, 9]", more='along = "x"'))
    assert swept(mine) == [
        ("blur", None, (0.0, 1.0)),
        ("translation", "x", (-2.0, 0.0, 2.0, 9.0)),
        ("translation", "y", (-3.0, 0.0, 3.0)),
    ]


def test_a_sweep_that_replaces_another_takes_nothing_from_it(over: Written) -> None:
    assert over(sweep("blur", "[0, 2]")).sweeps[0].note == ""


def test_a_new_sweep_comes_after_those_of_the_base(over: Written) -> None:
    mine = over(
        sweep("translation", "[0, 1]", more="along = 45") + sweep("mirror", "[0, 1]", unit="times")
    )
    assert [(name, along) for name, along, _ in swept(mine)] == [
        ("blur", None),
        ("translation", "x"),
        ("translation", "y"),
        ("translation", 45.0),
        ("mirror", None),
    ]


def test_a_sweep_in_another_unit_replaces_all_of_its_perturbation(over: Written) -> None:
    base = (
        'title = "Base"\n'
        + sweep("stroke-width", "[0, 1]")
        + sweep("blur", "[0, 1]")
        + sweep("stroke-width", "[1, 2]", unit="ratio")
    )
    mine = over("scan_dpi = 254\n" + sweep("stroke-width", "[0, 0.1]", unit="mm"), base)
    assert [(s.perturbation, s.unit) for s in mine.sweeps] == [
        ("stroke-width", "mm"),
        ("blur", "px"),
    ]
    both = over(
        sweep("stroke-width", "[0, 2]") + sweep("stroke-width", "[1, 3]", unit="ratio"), base
    )
    assert [(s.perturbation, s.unit) for s in both.sweeps] == [
        ("stroke-width", "px"),
        ("stroke-width", "ratio"),
        ("blur", "px"),
    ]


def test_a_grid_of_the_same_two_replaces_that_of_the_base_and_one_the_other_way_round_does_not(
    over: Written,
) -> None:
    rows = '{perturbation = "rotation", unit = "deg", levels = [0, 7]}'
    columns = '{perturbation = "blur", unit = "px", levels = [0, 2]}'
    (grid,) = over(f"[[grid]]\ndown = {rows}\nacross = {columns}\n").grids
    assert (grid.down.levels, grid.across.levels) == ((0.0, 7.0), (0.0, 2.0))
    assert len(over(f"[[grid]]\ndown = {columns}\nacross = {rows}\n").grids) == 2


def test_a_blend_of_the_same_title_replaces_that_of_the_base(over: Written) -> None:
    part = '{perturbation = "rotation", unit = "deg", uniform = {low = 0, high = 1}}'
    (blend,) = over(f'[[blend]]\ntitle = " Belt"\npart = [{part}]\n').blends
    assert [each.perturbation for each in blend.parts] == ["rotation"]
    other = over(f'[[blend]]\ntitle = "Belt two"\npart = [{part}]\n').blends
    assert [blend.title for blend in other] == ["Belt", "Belt two"]


def test_a_requirement_on_the_same_replaces_that_of_the_base(over: Written) -> None:
    text = '[[require]]\nnominal = true\nkeeps = 0.5\n[[require]]\nblend = "Belt"\ndrop = 0.3\n'
    kept = [(each.keeps, each.drop) for each in over(text).requirements]
    assert kept == [(0.5, None), (None, 0.1), (None, 0.3)]
    text = (
        '[[require]]\nperturbation = "translation"\nunit = "px"\nwithin = 2\nkeeps = 0.7\n'
        '[[require]]\nperturbation = "blur"\nunit = "px"\nwithin = 1\nkeeps = 0.6\n'
    )
    kept = [(each.keeps, each.drop) for each in over(text).requirements]
    assert kept == [(0.9, None), (0.7, None), (0.8, None), (0.6, None)]


def test_spaces_round_the_title_of_a_blend_make_no_other_requirement(over: Written) -> None:
    text = '[[require]]\nblend = " Belt "\nkeeps = 0.7\n'
    assert [each.keeps for each in over(text).requirements if each.blend] == [0.7]


def test_what_is_left_out_is_gone_and_nothing_else(over: Written, catalogue: Catalogue) -> None:
    base = parse_recipe(BASE, catalogue)
    mine = over('[[leave_out.sweep]]\nperturbation = "translation"\nalong = "y"\n')
    assert mine.sweeps == base.sweeps[:2]
    assert mine.requirements == base.requirements
    bare = over(
        "[leave_out]\n"
        'sweep = [{perturbation = "blur"}, {perturbation = "translation"}]\n'
        'grid = [{down = {perturbation = "rotation"}, across = {perturbation = "blur"}}]\n'
        'blend = [{title = "Belt"}]\n'
        'require = [{nominal = true}, {blend = "Belt"}, {perturbation = "translation"}]\n'
    )
    assert bare.sweeps == base.sweeps[2:]
    assert (bare.grids, bare.blends, bare.requirements) == ((), (), ())


def test_what_is_left_out_and_said_again_comes_last(over: Written) -> None:
    mine = over('leave_out.sweep = [{perturbation = "blur"}]\n' + sweep("blur", "[0, 1]"))
    assert [name for name, _, _ in swept(mine)] == ["translation", "translation", "blur"]


def test_a_base_may_leave_the_resolution_to_those_that_extend_it(
    over: Written, catalogue: Catalogue
) -> None:
    base = 'title = "Pens"\n' + sweep("stroke-width", "[0, 0.1]", unit="mm")
    mine = over("scan_dpi = 254\n", base)
    assert mine.ruler.in_px(mine.sweeps[0].levels[1], "mm") == 1.0  # type: ignore[arg-type]
    alone = parse_recipe("scan_dpi = 254\n" + base, catalogue)
    assert mine.digest == alone.digest


def test_each_file_of_a_chain_is_laid_over_the_next(tmp_path: Path, catalogue: Catalogue) -> None:
    (tmp_path / "deep").mkdir()
    (tmp_path / "base.toml").write_text(BASE)
    (tmp_path / "deep" / "middle.toml").write_text(
        'extends = "../base.toml"\ntitle = "Middle"\nseed = 8\n' + sweep("blur", "[0, 4]")
    )
    (tmp_path / "top.toml").write_text(
        'extends = "deep/middle.toml"\ntitle = "Top"\n' + sweep("blur", "[0, 7]")
    )
    top = read_recipe(tmp_path / "top.toml", catalogue)
    assert (top.title, top.seed, top.sweeps[0].levels) == ("Top", 8, (0.0, 7.0))
    assert top.extends == (
        str(tmp_path / "deep" / "middle.toml"),
        str(tmp_path / "deep" / ".." / "base.toml"),
    )


def test_a_recipe_that_extends_nothing_keeps_its_text_and_its_digest(catalogue: Catalogue) -> None:
    text = "# why\n" + BASE
    recipe = parse_recipe(text, catalogue)
    assert recipe.text == text
    assert recipe.extends == ()
    shipped = read_recipe(find_recipe("first-look"), CATALOGUE)
    assert shipped.digest == FIRST_LOOK


def test_what_is_stored_stands_alone_and_pins_what_came_of_all_files(
    over: Written, catalogue: Catalogue
) -> None:
    mine = over(sweep("blur", "[0, 0.25]"))
    again = parse_recipe(mine.text, catalogue)
    assert "extends" not in mine.text
    assert again == mine
    assert again.digest == mine.digest
    assert again.text == mine.text


def test_a_recipe_that_ships_is_extended_by_name_from_a_text_without_a_folder() -> None:
    mine = parse_with_all('extends = "first-look"\ntitle = "Mine"\n')
    assert mine.digest == FIRST_LOOK
    assert mine.extends == (str(find_recipe("first-look")),)


def test_a_text_finds_what_it_extends_in_the_folder_that_it_is_given(tmp_path: Path) -> None:
    (tmp_path / "base.toml").write_text('title = "Base"\nseed = 9\n')
    mine = parse_with_all('extends = "base.toml"\ntitle = "Mine"\n', folder=tmp_path)
    assert mine.seed == 9


def test_a_sweep_knows_the_file_and_the_line_that_it_was_written_on(over: Written) -> None:
    mine = over(sweep("translation", "[-2, 0, 2]"))
    folder = mine.extends[0].removesuffix("base.toml")
    assert [str(each.where).replace(folder, "") for each in mine.sweeps] == [
        "base.toml:6: sweep 1, extended by mine.toml",
        "mine.toml:3: sweep 1",
        "base.toml:17: sweep 3, extended by mine.toml",
    ]


@pytest.mark.parametrize("name", shelf_names())
def test_a_recipe_laid_over_itself_is_itself(name: str) -> None:
    recipe = read_shipped(name)
    assert parse_with_all(f'extends = "{name}"\n{recipe.text}') == recipe


@pytest.mark.parametrize("name", shelf_names())
def test_when_all_is_left_out_nothing_is_left(name: str) -> None:
    recipe = read_shipped(name)
    gone = {
        "sweep": [thing(each) for each in recipe.sweeps],
        "grid": [{"down": thing(each.down), "across": thing(each.across)} for each in recipe.grids],
        "blend": [{"title": each.title} for each in recipe.blends],
        "require": [
            {"nominal": True}
            if each.of_nominal
            else {"blend": each.blend}
            if each.blend
            else thing(each)
            for each in recipe.requirements
        ],
    }
    lines = [f"leave_out.{kind} = {inline(tables)}" for kind, tables in gone.items() if tables]
    bare = parse_with_all("\n".join([f'extends = "{name}"', 'title = "Bare"', *lines]))
    assert (bare.sweeps, bare.grids, bare.blends, bare.requirements) == ((), (), (), ())
    assert (bare.seed, bare.note, bare.ruler) == (recipe.seed, recipe.note, recipe.ruler)


def thing(each: Sweep | Requirement) -> dict[str, object]:
    options = {key: value for key, value in each.options if value is not None}
    return {"perturbation": each.perturbation, **options}


def inline(value: object) -> str:
    """TOML on one line; JSON's strings and numbers are TOML's too."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key} = {inline(each)}" for key, each in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(inline, value)) + "]"
    return json.dumps(value)


def test_an_installed_package_extends_what_lies_beside(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    room = tmp_path / "site" / "gen" / "recipe"
    shutil.copytree(shelf_folder(), room / "shipped")
    monkeypatch.setattr(shelf, "__file__", str(room / "shelf.py"))
    phone = read_shipped("phone-photo-of-paper")
    assert phone.extends == (str(room / "shipped" / "skewed-sheet.toml"),)
