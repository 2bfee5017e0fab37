"""`gen recipe`: check, list, show, compare and begin recipes."""

from __future__ import annotations

import sys
import textwrap
from pathlib import Path
from typing import TYPE_CHECKING

import click

from gen.cli.complete import recipe_names
from gen.cli.kinds import PathName
from gen.cli.process import quoted
from gen.cli.talk import columns, many
from gen.cli.usage import Group
from gen.core.plain_text import printable

if TYPE_CHECKING:
    from gen.recipe.model import Recipe

_ONE_LINE = 1000
"""Columns where no terminal breaks lines, and a line is what other programs work on."""
_LEAST = 30
"""Columns of text that are worth reading beside a name."""
DIFFER = 1
"""Exit code when two recipes are not the same."""


@click.group(cls=Group)
def recipe() -> None:
    """Check, list, show, compare and begin recipes.

    \b
    Examples:
      gen recipe list
      gen recipe show first-look
    """


@recipe.command()
@click.argument("file", metavar="FILE", shell_complete=recipe_names)
def check(file: str) -> None:
    """Say what is in FILE, a recipe that ships or the path of one.

    Every problem is shown at once, with its line; the exit code is then 2.

    \b
    Example:
      gen recipe check first-look
    """
    read, path = _read(file)
    click.echo(printable(f"{path}: {_holds(read)}"))


@recipe.command("list")
def list_() -> None:
    """List the recipes that ship, with what each of them asks.

    \b
    Example:
      gen recipe list
    """
    from gen.recipe.shelf import shelf_notes

    notes = shelf_notes()
    across = max(map(len, notes)) + 2
    width = columns() if sys.stdout.isatty() else _ONE_LINE
    for name, note in notes.items():
        if across + _LEAST <= width:
            first, then = f"{name:<{across}}", " " * across
        else:
            click.echo(name)
            first = then = "  "
        for line in textwrap.wrap(note, width, initial_indent=first, subsequent_indent=then):
            click.echo(line)


@recipe.command()
@click.argument("name", shell_complete=recipe_names)
def show(name: str) -> None:
    """Print what NAME comes to, a recipe that ships or the path of one.

    A recipe that extends none is printed as it is written. One that extends another is
    printed as what comes of both: a recipe that stands alone, as stress sets and reports
    hold it.

    The digest, by which two people know that they have the same recipe, goes to
    standard error, so that the text can be sent to a file.

    \b
    Example:
      gen recipe show first-look
    """
    read, _ = _read(name)
    click.echo(read.text, nl=not read.text.endswith("\n"))
    if read.extends:
        click.echo(printable(f"extends {', '.join(read.extends)}"), err=True)
    click.echo(f"digest {read.digest}", err=True)


@recipe.command()
@click.argument("a", shell_complete=recipe_names)
@click.argument("b", shell_complete=recipe_names)
def diff(a: str, b: str) -> None:
    """Say in words what differs between two recipes.

    A and B are recipes that ship, or the paths of some.

    What comes of each is compared, with whatever it extends. Comments, and the way
    that levels are written, make no difference.

    Exit code: 0 when they are the same, 1 when something differs, 2 when one can't be read.

    \b
    Example:
      gen recipe diff first-look build-gate
    """
    from gen.recipe.differences import differences

    (one, _), (other, _) = _read(a), _read(b)
    for name, said, each in (("A", a, one), ("B", b, other)):
        click.echo(printable(f"{name:<10}{said}, digest {each.digest[:12]}"), err=True)
    found = differences(one, other)
    for line in found:
        click.echo(line)
    if not found:
        click.echo("result    the same recipe", err=True)
        return
    pictures = "the same pictures" if one.digest == other.digest else "other pictures"
    click.echo(f"result    {many(len(found), 'difference')}; {pictures}", err=True)
    raise click.exceptions.Exit(DIFFER)


@recipe.command()
@click.argument("file", type=PathName())
def new(file: Path) -> None:
    """Write a commented starter recipe to FILE, which must not exist yet.

    \b
    Example:
      gen recipe new my-recipe.toml
    """
    from gen.core.errors import OutputError
    from gen.core.files import whole_file
    from gen.recipe.starter import STARTER

    if file.exists() or file.is_symlink():
        raise OutputError(
            str(file), "this file is there already", hint="another name, or move it away"
        )
    if not file.parent.is_dir():
        raise OutputError(str(file), "its folder isn't there", hint="make it first")
    with whole_file(file) as scratch:
        scratch.write_text(STARTER, encoding="utf-8", newline="\n")
    click.echo(printable(f"{file}: written; next: gen recipe check {quoted(str(file))}"))


def _read(name_or_path: str) -> tuple[Recipe, Path]:
    from gen.perturb.recipes import read_recipe
    from gen.recipe.shelf import find_recipe

    path = find_recipe(name_or_path)
    return read_recipe(path), path


def _holds(read: Recipe) -> str:
    """One line of what a recipe holds."""
    levels = sum(len(sweep.levels) for sweep in read.sweeps)
    crossed = sum(len(grid.down.levels) * len(grid.across.levels) for grid in read.grids)
    draws = sum(blend.draws for blend in read.blends)
    parts = [f"extends {file}" for file in read.extends]
    if read.sweeps:
        parts += [many(len(read.sweeps), "sweep"), many(levels, "level")]
    if read.grids:
        parts.append(f"{many(len(read.grids), 'grid')} of {many(crossed, 'pair')} of levels")
    if read.blends:
        parts.append(f"{many(len(read.blends), 'blend')} of {many(draws, 'draw')}")
    if not (read.sweeps or read.grids or read.blends):
        parts.append("nothing but nominal")
    if read.requirements:
        parts.append(many(len(read.requirements), "requirement"))
    return ", ".join([*parts, f"seed {read.seed}", f"digest {read.digest[:12]}"])
