"""Recipes that ship, the starter, and the reference page, held to the true catalogue."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from gen.core.errors import RecipeError
from gen.perturb import CATALOGUE, PERTURBATIONS
from gen.recipe import shelf
from gen.recipe.bases import MOST_FILES
from gen.recipe.blends import BLEND_KEYS, MOST_DRAWS, MOST_PARTS, PART_KEYS
from gen.recipe.grids import GRID_KEYS
from gen.recipe.levels import LIMIT, TOTAL_LIMIT
from gen.recipe.model import Entry, Option
from gen.recipe.reader import LARGEST_SEED, parse_recipe, read_recipe
from gen.recipe.require import MOST_REQUIREMENTS, REQUIRE_KEYS
from gen.recipe.schema import recipe_schema
from gen.recipe.shelf import find_recipe, shelf_folder, shelf_names, shelf_titles
from gen.recipe.starter import STARTER
from gen.recipe.tables import SWEEP_KEYS, TOP_KEYS

PAGE = (Path(__file__).parents[2] / "recipes" / "README.md").read_text("utf-8")
SIX = {"translation", "stroke-width", "blur", "rotation", "placement", "scale"}


def test_the_first_look_has_all_six_and_the_file_faults_of_a_decoder() -> None:
    recipe = read_recipe(find_recipe("first-look"), CATALOGUE)
    seen = {sweep.perturbation for sweep in recipe.sweeps}
    faults = {name for name, entry in CATALOGUE.items() if entry.station == "file"}
    assert seen == SIX | faults - {"quarter-turns", "bit-depth", "jpeg"}
    ways = [s.option("along") for s in recipe.sweeps if s.perturbation == "translation"]
    assert ways == ["x", "y"]


@pytest.mark.parametrize("frame", [(28, 28), (32, 32)])
def test_the_first_look_fits_the_usual_frames_in_about_ninety_cells(
    frame: tuple[int, int],
) -> None:
    recipe = read_recipe(find_recipe("first-look"), CATALOGUE)
    cells = 1
    for sweep in recipe.sweeps:
        perturbation = PERTURBATIONS[sweep.perturbation]
        unit = perturbation.entry.unit(sweep.unit)
        for level in sweep.levels:
            perturbation.check(
                level, unit=unit, options=dict(sweep.options), frame=frame, where="first-look"
            )
        cells += len(set(sweep.levels) - {unit.nominal})
        assert unit.nominal in sweep.levels
    assert 80 <= cells <= 100


def test_the_starter_is_a_recipe() -> None:
    recipe = parse_recipe(STARTER, CATALOGUE)
    assert len(recipe.sweeps) == 4
    assert recipe.sweeps[2].levels == (-30.0, -15.0, 0.0, 15.0, 30.0)


def test_what_is_commented_out_in_the_starter_is_a_recipe_too() -> None:
    head, tables = STARTER.split("# [[grid]]")
    awake = [
        re.sub(r"^# ?", "", line)
        for line in f"# [[grid]]{tables}".split("\n")
        if re.match(r"# ?(\[|\w+ = )", line)
    ]
    recipe = parse_recipe(head + "\n".join(awake), CATALOGUE)
    assert (len(recipe.sweeps), len(recipe.grids), len(recipe.blends[0].parts)) == (4, 1, 2)
    lengths = re.findall(r"^#   (\w+ = \d+)$", STARTER, re.MULTILINE)
    ruler = parse_recipe("\n".join(['title = "a"', *lengths]), CATALOGUE).ruler
    assert (ruler.scan_dpi, ruler.glyph_height_px) == (200.0, 20.0)


def test_names_are_told_from_paths(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert find_recipe("first-look") == shelf_folder() / "first-look.toml"
    (tmp_path / "first-look").mkdir()
    assert find_recipe("first-look") == shelf_folder() / "first-look.toml"
    (tmp_path / "first-look").rmdir()
    (tmp_path / "first-look").write_text(STARTER)
    assert find_recipe("first-look") == Path("first-look")
    (tmp_path / "mine.toml").write_text(STARTER)
    assert find_recipe("mine.toml") == Path("mine.toml")
    assert find_recipe(tmp_path / "mine.toml") == tmp_path / "mine.toml"


def test_an_unknown_name_gets_the_list_and_the_nearest() -> None:
    with pytest.raises(RecipeError, match="fist-look") as caught:
        find_recipe("fist-look")
    names = ", ".join(shelf_names())
    assert str(caught.value) == (
        'no recipe that ships is called "fist-look"\n'
        f"  allowed   {names}, or the path of a TOML file\n"
        '  try       "first-look"'
    )


def test_a_path_that_is_not_there_is_a_missing_file_and_not_a_name(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    with pytest.raises(RecipeError, match=r'^first-look\.toml: there is no.*\n.*"first-look"$'):
        find_recipe("first-look.toml")
    with pytest.raises(RecipeError, match=r"^folder/mine: there is no such file$"):
        find_recipe("folder/mine")


def test_a_file_is_offered_for_its_name_and_not_for_its_ending(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    for name in ("crates.toml", "none.toml"):
        (tmp_path / name).write_text(STARTER)
    with pytest.raises(RecipeError, match=r'try +"crates\.toml"$'):
        find_recipe("crate.toml")
    with pytest.raises(RecipeError, match=r"there is no such file$"):
        find_recipe("shed.toml")


def test_an_empty_name_is_refused() -> None:
    with pytest.raises(RecipeError, match='called ""'):
        find_recipe("")


def test_an_installed_package_has_its_shelf_inside(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    room = tmp_path / "site" / "gen" / "recipe"
    (room / "shipped").mkdir(parents=True)
    (room / "shipped" / "only.toml").write_text('title = "Only"')
    (room / "shipped" / "README.md").write_text("not a recipe")
    monkeypatch.setattr(shelf, "__file__", str(room / "shelf.py"))
    assert shelf_titles() == {"only": "Only"}
    assert find_recipe("only").read_text() == 'title = "Only"'


def test_a_folder_of_somebody_elses_beside_the_package_is_not_the_shelf(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(shelf, "__file__", str(tmp_path / "gen" / "recipe" / "shelf.py"))
    (tmp_path / "recipes").mkdir()
    with pytest.raises(RecipeError, match="the recipes that ship are missing"):
        shelf_folder()


def test_the_example_on_the_reference_page_is_a_recipe() -> None:
    example, grid, blend, require, _ = re.findall(r"```toml\n(.*?)```", PAGE, re.DOTALL)
    recipe = parse_recipe(f"{example}\n{grid}\n{blend}\n{require}", CATALOGUE)
    assert [part.keeps for part in recipe.requirements] == [0.95, 0.97, None]
    assert recipe.requirements[0].levels == (-2.0, -1.0, 0.0, 1.0, 2.0)
    assert len(recipe.grids[0].across.levels) == 5
    assert [part.step for part in recipe.blends[0].parts] == [1 / 64, 0.5]
    assert recipe.seed == 7
    assert [sweep.perturbation for sweep in recipe.sweeps] == [
        "translation",
        "stroke-width",
        "placement",
        "translation",
    ]
    assert recipe.sweeps[0].levels == tuple(float(px) for px in range(-4, 5))


def test_the_example_that_extends_is_a_recipe_too() -> None:
    recipe = parse_recipe(re.findall(r"```toml\n(.*?)```", PAGE, re.DOTALL)[4], CATALOGUE)
    ways = [s for s in recipe.sweeps if s.perturbation == "translation"]
    assert [(sweep.option("along"), len(sweep.levels)) for sweep in ways] == [("x", 9)]
    assert len(recipe.sweeps) == len(read_recipe(find_recipe("first-look"), CATALOGUE).sweeps) - 1
    assert recipe.seed == 3


@pytest.mark.parametrize("entry", CATALOGUE.values(), ids=lambda entry: entry.name)
def test_the_reference_page_has_each_perturbation_as_it_is(entry: Entry) -> None:
    assert page_rows(entry) in PAGE


def test_the_reference_page_has_every_key_and_limit() -> None:
    keys = set(re.findall(r"^\| `\[*([\w.]+)\]*` \|", PAGE, re.MULTILINE))
    part_keys = {key for key in PART_KEYS if key not in SWEEP_KEYS}
    blend_keys = {"blend.part" if key == "part" else key for key in BLEND_KEYS}
    # `from` and `to` share a row, and so do the keys that a sweep has too.
    require_keys = {key for key in REQUIRE_KEYS if key not in {"from", "to"}}
    assert keys == {
        *TOP_KEYS,
        *SWEEP_KEYS,
        *GRID_KEYS,
        *blend_keys,
        *part_keys,
        *require_keys,
    }
    limits = (LARGEST_SEED, LIMIT, TOTAL_LIMIT, MOST_DRAWS, MOST_PARTS, MOST_REQUIREMENTS)
    for number in (*limits, MOST_FILES):
        assert re.search(rf"\b{number}\b", PAGE)


def test_the_reference_page_has_every_key_of_the_schema() -> None:
    code = re.findall(r"```toml\n(.*?)```", PAGE, re.DOTALL) + re.findall(r"`([^`\n]+)`", PAGE)
    words = set(re.findall(r"[\w-]+", "\n".join(code)))
    keys = set(schema_keys(recipe_schema(CATALOGUE)))
    assert {"extends", "leave_out", "glyph_height_px", "weights", "judged_on", "gap_px"} <= keys
    assert keys <= words


def schema_keys(schema: object) -> Iterator[str]:
    """Every key that some table of a recipe may have."""
    if isinstance(schema, dict):
        yield from schema.get("properties", {})
        for below in schema.values():
            yield from schema_keys(below)
    elif isinstance(schema, list):
        for below in schema:
            yield from schema_keys(below)


def test_the_reference_page_lists_nothing_that_is_not_there() -> None:
    table = PAGE.split("## Perturbations")[1]
    assert set(re.findall(r"^\| ([a-z-]+) \| [a-z\"]", table, re.MULTILINE)) - {"perturbation"} == (
        set(CATALOGUE)
    )


def page_rows(entry: Entry) -> str:
    """The rows of the page's table for one perturbation."""
    options = "; ".join(page_option(option) for option in entry.options)
    return "".join(
        f"| {entry.name} | {unit.name} | {unit.allowed} | {said(unit.nominal)} | {options} |\n"
        for unit in entry.units
    )


def page_option(option: Option) -> str:
    default = "" if option.default is None else f", default {said(option.default)}"
    return f"`{option.name}`: {option.allowed}{default}"


def said(level: float | str) -> str:
    return f'"{level}"' if isinstance(level, str) else f"{level:g}"
