"""`gen recipe` as a person types it."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from gen.cli.recipe import DIFFER, list_, recipe
from gen.core.errors import CombinedError, OutputError, RecipeError
from gen.perturb import CATALOGUE
from gen.recipe.reader import read_recipe
from gen.recipe.shelf import find_recipe, shelf_names, shelf_notes
from gen.recipe.starter import STARTER


def run(*arguments: str) -> tuple[str, str]:
    """What goes to standard output and to standard error; errors are raised."""
    result = CliRunner().invoke(recipe, arguments, catch_exceptions=False, standalone_mode=False)
    # `diff` also ends with 1, which isn't shown here; tests/recipe/test_differences.py has it.
    assert result.exit_code in ((0, DIFFER) if arguments[0] == "diff" else (0,))
    return result.stdout, result.stderr


def test_check_says_in_one_line_what_a_recipe_holds(tmp_path: Path) -> None:
    path = tmp_path / "one.toml"
    path.write_text(
        'title = "One"\nseed = 3\n[[sweep]]\nperturbation = "blur"\nunit = "px"\nlevels = [1, 2]\n'
    )
    out, err = run("check", str(path))
    digest = read_recipe(path, CATALOGUE).digest[:12]
    assert out == f"{path}: 1 sweep, 2 levels, seed 3, digest {digest}\n"
    assert err == ""


def test_check_says_of_a_recipe_without_levels_that_nominal_is_all(tmp_path: Path) -> None:
    path = tmp_path / "none.toml"
    path.write_text('title = "None"\n')
    digest = read_recipe(path, CATALOGUE).digest[:12]
    assert run("check", str(path))[0] == f"{path}: nothing but nominal, seed 0, digest {digest}\n"


def test_check_takes_a_name_from_the_shelf() -> None:
    assert re.search(r"first-look\.toml: \d+ sweeps, \d+ levels", run("check", "first-look")[0])


def test_check_hands_on_every_problem(tmp_path: Path) -> None:
    path = tmp_path / "bad.toml"
    path.write_text("seed = 1.5\nlevles = 3\n")
    with pytest.raises(CombinedError, match=r"(?s)title.*seed.*levles") as caught:
        run("check", str(path))
    assert caught.value.exit_code == 2


def test_list_gives_names_with_what_each_asks_a_line_each_for_other_programs() -> None:
    lines = run("list")[0].splitlines()
    assert [line.split()[0] for line in lines] == list(shelf_names())
    assert any(re.fullmatch(r"first-look {2,}The commonest .* nominal\?", line) for line in lines)


@pytest.mark.parametrize("width", [40, 80])
def test_list_fits_a_terminal(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], width: int
) -> None:
    monkeypatch.setenv("COLUMNS", str(width))
    monkeypatch.setattr(sys.stdout, "isatty", lambda: True)
    list_.callback()  # type: ignore[misc]
    out = capsys.readouterr().out
    assert max(map(len, out.splitlines())) <= width
    assert re.findall(r"^\S+", out, re.MULTILINE) == list(shelf_names())
    said = " ".join(out.split())
    assert all(" ".join(note.split()) in said for note in shelf_notes().values())


def test_show_prints_the_text_and_nothing_else_to_standard_output() -> None:
    path = find_recipe("first-look")
    out, err = run("show", "first-look")
    assert out == path.read_text("utf-8")
    assert err == f"digest {read_recipe(path, CATALOGUE).digest}\n"


def test_show_prints_what_comes_of_a_recipe_that_extends_another(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    path.write_text('# why\nextends = "build-gate"\ntitle = "Mine"\nseed = 4\n')
    out, err = run("show", str(path))
    assert out.startswith('title = "Mine"\nnote = "Has the model ')
    assert "extends" not in out
    read = read_recipe(path, CATALOGUE)
    assert err == f"extends {find_recipe('build-gate')}\ndigest {read.digest}\n"
    (tmp_path / "alone.toml").write_text(out)
    assert read_recipe(tmp_path / "alone.toml", CATALOGUE) == read


def test_check_says_what_a_recipe_extends(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    path.write_text('extends = "first-look"\ntitle = "Mine"\n')
    assert run("check", str(path))[0].startswith(
        f"{path}: extends {find_recipe('first-look')}, 13 sweeps, "
    )


def test_show_of_an_unknown_name_lists_what_there_is() -> None:
    with pytest.raises(RecipeError, match=r"(?s)second-look.*first-look"):
        run("show", "second-look")


def test_new_writes_a_starter_that_checks(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    assert run("new", str(path))[0] == f"{path}: written; next: gen recipe check {path}\n"
    assert path.read_bytes() == STARTER.encode()
    assert "4 sweeps" in run("check", str(path))[0]


def test_new_leaves_a_file_that_is_there_as_it_is(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    path.write_text("mine")
    with pytest.raises(OutputError, match="there already"):
        run("new", str(path))
    assert path.read_text() == "mine"


def test_new_says_when_there_is_no_folder_to_write_in(tmp_path: Path) -> None:
    with pytest.raises(OutputError, match=r"its folder isn't there\n +try +make it first"):
        run("new", str(tmp_path / "none" / "mine.toml"))
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("name", sorted(recipe.commands))
def test_the_example_in_the_help_runs(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    command = recipe.commands[name]
    page = command.get_help(click.Context(command, info_name=name))
    examples = re.findall(r"^\s+gen recipe (.+)$", page, re.MULTILINE)
    assert examples
    for example in examples:
        assert run(*example.split())[0]


def test_the_commands_are_known_without_loading_the_perturbations() -> None:
    code = "import sys, gen.cli.recipe; print(*(m for m in sys.modules if m.startswith('gen.')))"
    loaded = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    ).stdout.split()
    assert "gen.cli.recipe" in loaded
    assert not {"gen.perturb", "gen.recipe", "gen.render"} & set(loaded)


def test_a_bad_recipe_ends_the_program_with_2_and_no_traceback(tmp_path: Path) -> None:
    path = tmp_path / "bad.toml"
    path.write_text('title = "Bad"\nsed = 1\n')
    ended = subprocess.run(
        [sys.executable, "-m", "gen", "recipe", "check", str(path)],
        capture_output=True,
        text=True,
        check=False,
    )
    assert ended.returncode == 2
    assert ended.stdout == ""
    assert ended.stderr == (
        f'{path}:2: unknown key "sed"\n'
        "  allowed   blend, extends, glyph_height_px, grid, leave_out, note, require, scan_dpi, "
        "seed, sweep, title\n"
        '  try       "seed"\n'
    )
