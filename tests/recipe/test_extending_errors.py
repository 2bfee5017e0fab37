"""Recipes whose base isn't there, can't be read, or has something wrong in it."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pytest

from gen.core.errors import CombinedError, InkdriftError, RecipeError
from gen.perturb.recipes import parse_recipe as parse_with_all
from gen.recipe.bases import MOST_FILES
from gen.recipe.model import Catalogue
from gen.recipe.reader import parse_recipe, read_recipe
from gen.recipe.shelf import find_recipe, shelf_names
from gen.recipe.source import LARGEST_FILE

Refused = Callable[..., str]

NAMES = ", ".join(shelf_names())
PATH_OR_NAME = "a relative path that ends in .toml, or the name of a recipe that ships"
BASE = (
    'title = "Base"\n\n'
    '[[sweep]]\nperturbation = "blur"\nunit = "px"\nlevels = [0, 1]\n\n'
    '[[sweep]]\nperturbation = "translation"\nunit = "px"\nlevels = [-1, 1]\n\n'
    '[[require]]\nperturbation = "translation"\nunit = "px"\nwithin = 1\nkeeps = 0.5\n'
)
PART = 'part = [{perturbation = "blur", unit = "px", uniform = {low = 0, high = 1}}]\n'


@pytest.fixture
def refused(tmp_path: Path, catalogue: Catalogue, monkeypatch: pytest.MonkeyPatch) -> Refused:
    """Writes files, reads the first and gives the whole message."""
    monkeypatch.chdir(tmp_path)

    def refuse(**texts: str) -> str:
        for name, text in texts.items():
            path = Path(name.replace("__", "/") + ".toml")
            path.parent.mkdir(exist_ok=True)
            path.write_text(text)
        with pytest.raises((RecipeError, CombinedError), match=r"\.toml") as caught:
            read_recipe(f"{next(iter(texts))}.toml", catalogue)
        return str(caught.value)

    return refuse


def extending(file: str, more: str = "") -> str:
    return f'title = "T"\nextends = "{file}"\n{more}'


def test_a_circle_is_named_from_end_to_end(refused: Refused) -> None:
    assert refused(a=extending("b.toml"), b=extending("a.toml")) == (
        "b.toml:2: extends, extended by a.toml: recipes extend one another in a circle\n"
        "  got       a.toml extends b.toml extends a.toml\n"
        "  allowed   a chain that ends with a recipe that extends none"
    )


def test_a_recipe_that_extends_itself_is_a_circle(refused: Refused) -> None:
    assert refused(a=extending("folder/../a.toml"), folder__b="") == (
        "a.toml:2: extends: recipes extend one another in a circle\n"
        "  got       a.toml extends folder/../a.toml\n"
        "  allowed   a chain that ends with a recipe that extends none"
    )


def test_a_circle_that_the_first_recipe_is_not_in_is_named_too(refused: Refused) -> None:
    assert refused(a=extending("b.toml"), b=extending("c.toml"), c=extending("b.toml")) == (
        "c.toml:2: extends, extended by b.toml, extended by a.toml: "
        "recipes extend one another in a circle\n"
        "  got       a.toml extends b.toml extends c.toml extends b.toml\n"
        "  allowed   a chain that ends with a recipe that extends none"
    )


def test_a_circle_through_a_link_is_noticed(
    tmp_path: Path, catalogue: Catalogue, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("a.toml").write_text(extending("b.toml"))
    Path("b.toml").symlink_to("a.toml")
    with pytest.raises(RecipeError, match=r"got +a\.toml extends b\.toml\n"):
        read_recipe("a.toml", catalogue)


def test_a_link_that_leads_nowhere_is_not_offered_in_its_own_place(
    refused: Refused, tmp_path: Path
) -> None:
    (tmp_path / "loop.toml").symlink_to("loop.toml")
    said = refused(a=extending("loop.toml"))
    assert said.startswith("a.toml:2: extends: this link leads to no file\n")
    assert '"loop.toml"' not in said
    with pytest.raises(RecipeError, match=r"^loop\.toml: this link leads to no file") as caught:
        find_recipe("loop.toml")
    assert '"loop.toml"' not in str(caught.value)


def test_a_pipe_is_not_waited_for(refused: Refused, tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.toml")
    assert "extends: what this extends is not a file" in refused(a=extending("pipe.toml"))


def test_a_file_that_is_not_there_is_named_with_the_whole_chain(refused: Refused) -> None:
    assert refused(a=extending("deep/b.toml"), deep__b=extending("../bse.toml"), base=BASE) == (
        "deep/b.toml:2: extends, extended by a.toml: there is no such file\n"
        "  got       a.toml extends deep/b.toml extends deep/../bse.toml\n"
        '  try       "../base.toml"'
    )


def test_a_recipe_that_ships_is_offered_where_its_file_is_looked_for(refused: Refused) -> None:
    assert refused(a=extending("first-look.toml")) == (
        "a.toml:2: extends: there is no such file\n"
        "  got       a.toml extends first-look.toml\n"
        '  try       "first-look"'
    )


def test_a_name_that_no_recipe_has_gets_the_list_and_the_nearest(refused: Refused) -> None:
    assert refused(a=extending("frist-look")) == (
        'a.toml:2: extends: no recipe that ships is called "frist-look"\n'
        f"  allowed   {NAMES}, or a relative path that ends in .toml\n"
        '  try       "first-look"'
    )


@pytest.mark.parametrize(
    ("written", "got", "hint"),
    [
        ("'/etc/base.toml'", '"/etc/base.toml"', ""),
        ("'~/base.toml'", '"~/base.toml"', ""),
        ("'C:/base.toml'", '"C:/base.toml"', ""),
        (r"'deep\base.toml'", r'"deep\\base.toml"', '\n  try       "deep/base.toml"'),
    ],
)
def test_a_path_that_only_one_machine_has_is_refused(
    refused: Refused, written: str, got: str, hint: str
) -> None:
    assert refused(a=f'title = "T"\nextends = {written}\n') == (
        "a.toml:2: extends: this path would not be the same for somebody else\n"
        f"  got       {got}\n"
        f"  allowed   {PATH_OR_NAME}; / between folders{hint}"
    )


@pytest.mark.parametrize("written", ['["b.toml", "c.toml"]', "3", '""', "true"])
def test_a_recipe_extends_one_other_and_names_it(refused: Refused, written: str) -> None:
    message = refused(a=f'title = "T"\nextends = {written}\n')
    assert message.startswith("a.toml:2: extends: a recipe extends one other\n  got       ")
    assert message.endswith(f"\n  allowed   {PATH_OR_NAME}")


def test_only_toml_files_are_read(refused: Refused) -> None:
    Path("secret").mkdir()
    Path("secret/words").write_text("not for you")
    assert refused(a=extending("secret/words")) == (
        "a.toml:2: extends: this isn't the path of a recipe\n"
        '  got       "secret/words"\n'
        f"  allowed   {PATH_OR_NAME}\n"
        '  try       "secret/words.toml"'
    )


def test_a_chain_may_be_so_long_and_no_longer(
    tmp_path: Path, catalogue: Catalogue, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    for number in range(MOST_FILES):
        Path(f"{number}.toml").write_text(extending(f"{number + 1}.toml"))
    Path(f"{MOST_FILES}.toml").write_text(BASE)
    assert len(read_recipe("1.toml", catalogue).extends) == MOST_FILES - 1
    with pytest.raises(RecipeError, match="too many") as caught:
        read_recipe("0.toml", catalogue)
    by = ", ".join(f"extended by {number}.toml" for number in range(6, -1, -1))
    chain = " extends ".join(f"{number}.toml" for number in range(MOST_FILES + 1))
    assert str(caught.value) == (
        f"7.toml:2: extends, {by}: too many recipes in a row extend one another\n"
        f"  got       {chain}\n"
        "  allowed   at most 8, the first among them"
    )


def test_a_text_without_a_folder_says_what_to_do_about_a_path() -> None:
    with pytest.raises(RecipeError, match="no folder") as caught:
        parse_with_all(extending("base.toml"))
    assert str(caught.value) == (
        "recipe:2: extends: a text has no folder that this path could start from\n"
        '  got       "base.toml"\n'
        "  allowed   the name of a recipe that ships; a path where a folder is given\n"
        '  try       parse_recipe(text, folder="recipes"), or read_recipe for a file'
    )
    with pytest.raises(RecipeError, match=r'try +"first-look"$'):
        parse_with_all(extending("first-look.toml"))


def test_what_is_wrong_in_a_base_has_its_line_there_and_says_who_extends_it(
    refused: Refused,
) -> None:
    base = BASE.replace("levels = [0, 1]", "levels = [0, 17]", 1) + "colour = 1\n"
    message = refused(a=extending("b.toml", "seed = -1\n"), b=extending("base.toml"), base=base)
    assert message == (
        "a.toml:3: seed: a seed must be a whole number\n"
        "  got       -1\n"
        "  allowed   0 to 9223372036854775807\n"
        "base.toml:6: sweep 1, levels, item 2, extended by b.toml, extended by a.toml: "
        "a level is out of range\n"
        "  got       17 px\n"
        "  allowed   0 to 16 px\n"
        "base.toml:18: require 1, extended by b.toml, extended by a.toml: "
        'unknown key "colour"\n'
        "  allowed   along, blend, drop, from, judged_on, keeps, levels, nominal, note, "
        "perturbation, to, unit, within"
    )


def test_keys_at_the_top_of_a_base_are_judged_too(refused: Refused) -> None:
    base = 'title = "B"\nseed = -1\nsed = 3\n[grid]\nnote = "x"\n'
    assert refused(a=extending("base.toml"), base=base) == (
        "base.toml:2: seed, extended by a.toml: a seed must be a whole number\n"
        "  got       -1\n"
        "  allowed   0 to 9223372036854775807\n"
        'base.toml:3: extended by a.toml: unknown key "sed"\n'
        "  allowed   blend, extends, glyph_height_px, grid, leave_out, note, require, scan_dpi, "
        "seed, sweep, title\n"
        '  try       "seed"\n'
        "base.toml:4: grid, extended by a.toml: grids must be a list of tables\n"
        "  got       a table\n"
        "  try       [[grid]], with two brackets"
    )


@pytest.mark.parametrize("written", ["3", "{perturbation = 'blur'}"])
def test_what_is_no_list_of_tables_is_not_hidden_by_the_list_of_the_base(
    refused: Refused, written: str
) -> None:
    message = refused(a=extending("base.toml", f"sweep = {written}\n"), base=BASE)
    assert message.startswith("a.toml:3: sweep: sweeps must be a list of tables\n")


def test_problems_are_told_file_by_file_from_the_top(refused: Refused) -> None:
    message = refused(a=extending("base.toml", "\n\nseed = -1\n"), base='title = "B"\nsed = 3\n')
    lines = [line for line in message.splitlines() if not line.startswith(" ")]
    assert [line.partition(": ")[0] for line in lines] == ["a.toml:5", "base.toml:2"]


def test_a_base_that_is_not_toml_says_who_extends_it(refused: Refused) -> None:
    assert refused(a=extending("base.toml"), base="title = Base\n") == (
        "base.toml:1: extended by a.toml: this isn't TOML: invalid value, at column 9\n"
        "  got       title = Base\n"
        '  try       title = "Base"'
    )


def test_a_base_that_can_not_be_read_says_who_extends_it(
    tmp_path: Path, catalogue: Catalogue, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("a.toml").write_text(extending("base.toml"))
    Path("base.toml").mkdir()
    with pytest.raises(RecipeError, match="folder") as caught:
        read_recipe("a.toml", catalogue)
    assert str(caught.value) == (
        "base.toml: extended by a.toml: this is a folder, not a recipe\n  allowed   a TOML file"
    )


def test_what_comes_of_all_files_may_be_as_large_as_a_file_and_no_larger(
    tmp_path: Path, catalogue: Catalogue, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    half = "n" * (LARGEST_FILE // 2)
    Path("base.toml").write_text(f'title = "B"\n[[blend]]\ntitle = "b"\nnote = "{half}"\n{PART}')
    Path("a.toml").write_text(extending("base.toml", f'note = "{half}"\n'))
    with pytest.raises(RecipeError, match="too large") as caught:
        read_recipe("a.toml", catalogue)
    size = caught.value.got
    assert str(caught.value) == (
        "a.toml: what comes of it and of what it extends is too large for a recipe\n"
        f"  got       {size}\n"
        "  allowed   at most 1 MiB"
    )
    Path("a.toml").write_text(extending("base.toml", f'note = "{half[:-200]}"\n'))
    assert len(read_recipe("a.toml", catalogue).text) <= LARGEST_FILE


def test_the_title_is_never_that_of_the_base(refused: Refused) -> None:
    assert refused(a='extends = "base.toml"\n', base=BASE) == (
        'a.toml: missing key "title"\n  try       title = "What this recipe asks"'
    )


def test_a_requirement_of_the_base_that_nothing_tests_any_more_is_refused(
    refused: Refused,
) -> None:
    leaves = 'leave_out.sweep = [{perturbation = "translation"}]\n'
    assert refused(a=extending("base.toml", leaves), base=BASE).startswith(
        "base.toml:13: require 1, extended by a.toml: "
    )


LEAVE_OUT = [
    (
        'leave_out.sweep = [{perturbation = "translation", along = "y"}]',
        "leave_out, sweep 1: the base has no such sweep\n"
        "  got       translation along y\n"
        "  allowed   blur; translation along x",
    ),
    (
        'leave_out.blend = [{title = "Belt"}]',
        "leave_out, blend 1: the base has no such blend\n"
        '  got       "Belt"\n'
        "  allowed   nothing: the base has no blend",
    ),
    (
        "leave_out.require = [{nominal = true}]",
        "leave_out, require 1: the base has no such requirement\n"
        "  got       nominal\n"
        "  allowed   translation along x",
    ),
    (
        'leave_out.grid = [{down = {perturbation = "blur"}, across = {perturbation = "rotation"}}]',
        "leave_out, grid 1: the base has no such grid\n"
        "  got       blur by rotation about the frame\n"
        "  allowed   nothing: the base has no grid",
    ),
    (
        'leave_out.sweep = [{perturbation = "blur", unit = "px"}]',
        'leave_out, sweep 1: unknown key "unit"\n'
        "  allowed   perturbation\n"
        '  try       "perturbation"',
    ),
    (
        'leave_out.sweeps = [{perturbation = "blur"}]',
        'leave_out: unknown key "sweeps"\n'
        "  allowed   blend, grid, require, sweep\n"
        '  try       "sweep"',
    ),
    (
        'leave_out.sweep = {perturbation = "blur"}',
        "leave_out, sweep: this must be a list of tables\n"
        "  got       a table\n"
        "  try       [[leave_out.sweep]] with a perturbation and its options",
    ),
    (
        'leave_out.sweep = ["blur"]',
        "leave_out, sweep 1: this must be a table\n"
        '  got       "blur"\n'
        "  try       [[leave_out.sweep]] with a perturbation and its options",
    ),
    (
        'leave_out.require = [{nominal = true, blend = "Belt"}]',
        "leave_out, require 1: a requirement is about one thing\n"
        '  got       "nominal", "blend"\n'
        '  allowed   one of "blend", "nominal", "perturbation"',
    ),
    (
        "leave_out.require = [{nominal = false}]",
        'leave_out, require 1, nominal: "nominal" can\'t be this\n'
        "  got       false\n"
        "  allowed   true",
    ),
    (
        "leave_out.require = [{blend = 3}]",
        'leave_out, require 1, blend: "blend" must be text\n  got       3\n  allowed   text',
    ),
    (
        'leave_out.grid = [{down = {perturbation = "blur"}}]',
        'leave_out, grid 1: missing key "across"\n  allowed   {perturbation, options}',
    ),
    (
        'leave_out = "blur"',
        "leave_out: what is left out is told by its kind\n"
        '  got       "blur"\n'
        "  allowed   [[leave_out.sweep]] with a perturbation and its options; "
        "[[leave_out.grid]] with down and across; [[leave_out.blend]] with a title; "
        "[[leave_out.require]] with what it is about",
    ),
]


@pytest.mark.parametrize(("line", "message"), LEAVE_OUT, ids=[line for line, _ in LEAVE_OUT])
def test_what_can_not_be_left_out_is_said(refused: Refused, line: str, message: str) -> None:
    said = refused(a=extending("base.toml", f"{line}\n"), base=BASE)
    assert said == f"a.toml:3: {message}"


def test_what_can_not_be_left_out_is_not_told_again_of_a_requirement_that_stays(
    refused: Refused,
) -> None:
    more = (
        'leave_out.sweep = [{perturbation = "translation"}]\n'
        'leave_out.require = [{perturbation = "blur"}]\n'
    )
    assert refused(a=extending("base.toml", more), base=BASE) == (
        "a.toml:4: leave_out, require 1: the base has no such requirement\n"
        "  got       blur\n"
        "  allowed   translation along x"
    )


def test_leaving_out_needs_something_to_leave_out_of(catalogue: Catalogue) -> None:
    with pytest.raises(InkdriftError, match="nothing to leave out") as caught:
        parse_recipe('title = "T"\nleave_out.blend = [{title = "a"}]\n', catalogue)
    assert str(caught.value) == (
        "recipe:2: leave_out: there is nothing to leave out of\n"
        '  allowed   "leave_out" in a recipe that extends another\n'
        '  try       extends = "first-look"'
    )
