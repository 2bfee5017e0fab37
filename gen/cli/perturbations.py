"""`gen perturbations`: what may happen to a mark, listed and shown."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from gen.cli.complete import perturbation_names
from gen.cli.kinds import PathName
from gen.cli.process import plain, shows_blocks
from gen.cli.talk import Talk, columns
from gen.cli.usage import Command
from gen.core.errors import InkdriftError, OutputError

if TYPE_CHECKING:
    from gen.recipe.catalogue import Entry, Unit

_PICTURE = ".png"


@click.command(cls=Command)
@click.argument("name", required=False, shell_complete=perturbation_names)
@click.option(
    "--unit",
    metavar="UNIT",
    help="Which unit to show NAME in, where it has several. The usual one when left out.",
)
@click.option(
    "--into",
    "file",
    metavar="FILE.png",
    type=PathName(),
    help="Where the picture of NAME goes. The user's cache folder when left out; where it is, "
    "is told.",
)
@click.option("--overwrite", is_flag=True, help="Replace FILE.png when it is there.")
@click.option(
    "--json", "as_json", is_flag=True, help="Print the same as values, without the marks."
)
@click.option(
    "--quiet",
    is_flag=True,
    help="Leave out notes, and the picture unless --into names it; what was asked for is printed.",
)
def perturbations(
    *,
    name: str | None,
    unit: str | None,
    file: Path | None,
    overwrite: bool,
    as_json: bool,
    quiet: bool,
) -> None:
    """List what may happen to a mark, in the order in which it happens.

    With NAME, say everything about one: its units and their ranges, its options, and
    how marks look at some of its levels, in characters and as a picture.

    \b
    Examples:
      gen perturbations
      gen perturbations blur
      gen perturbations rotation --into rotation.png
    """
    from gen.perturb import CATALOGUE

    talk = Talk(quiet=quiet)
    if name is None:
        _check_alone({"--unit": unit, "--into": file})
        _print([CATALOGUE[each] for each in CATALOGUE], as_json=as_json)
        return
    entry = _found(name)
    wanted = _unit(entry, unit)
    if file is not None:
        _check_picture(file, overwrite=overwrite)
    if as_json:
        _print([entry], as_json=True)
    else:
        from gen.cli.perturbation_text import everything_of

        click.echo("\n".join(map(_shown, everything_of(entry, wanted, width=columns()))))
        _draw(entry, wanted)
    if file is not None:
        from gen.cli.perturbation_strip import write_picture

        write_picture(entry, wanted, file)
        talk.say(f"written   {file}")
    elif not (as_json or quiet):
        talk.say(_kept_picture(entry, wanted))


def _print(entries: list[Entry], *, as_json: bool) -> None:
    from gen.cli.perturbation_text import as_values, listing

    if as_json:
        from gen.report.json_text import json_text

        values: dict[str, Any] = {"perturbations": [as_values(entry) for entry in entries]}
        click.echo(json_text(values))
        return
    click.echo("\n".join(map(_shown, listing(entries, width=columns()))))


def _draw(entry: Entry, unit: Unit) -> None:
    """The strip in characters."""
    from gen.cli.perturbation_strip import strip_lines

    click.echo()
    click.echo("\n".join(strip_lines(entry, unit, width=columns(), blocks=shows_blocks())))


def _kept_picture(entry: Entry, unit: Unit) -> str:
    """Draw the picture into the user's cache folder, and say where it is or why it isn't."""
    from gen.cli.perturbation_strip import write_picture
    from gen.evaluate.kept import cache_folder

    cache = cache_folder()
    if cache is None:
        return f"picture   --into FILE{_PICTURE} draws one"
    other = "" if unit == entry.units[0] else f"-{unit.name.replace(' ', '-')}"
    file = cache / "perturbations" / f"{entry.name}{other}{_PICTURE}"
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        write_picture(entry, unit, file)
    except (OSError, OutputError):
        return f"picture   --into FILE{_PICTURE} draws one; {file.parent} can't be written into"
    return f"written   {file}"


def _shown(line: str) -> str:
    return line if shows_blocks() else plain(line)


def _found(name: str) -> Entry:
    from gen.perturb import CATALOGUE
    from gen.recipe.spelling import nearest, quoted

    if name in CATALOGUE:
        return CATALOGUE[name]
    near = nearest(name, CATALOGUE)
    raise InkdriftError(
        "",
        f"there is no perturbation {quoted(name)}",
        allowed=", ".join(CATALOGUE),
        hint=f"gen perturbations {near}" if near else "gen perturbations, which lists them",
    )


def _unit(entry: Entry, name: str | None) -> Unit:
    from gen.recipe.spelling import listed, nearest_hint, quoted

    if name is None:
        return entry.units[0]
    known = [unit.name for unit in entry.units]
    if name not in known:
        raise InkdriftError(
            "--unit",
            f"{entry.name} isn't shown in this unit",
            got=quoted(name),
            allowed=listed(known),
            hint=nearest_hint(name, known),
        )
    return entry.unit(name)


def _check_alone(given: dict[str, object]) -> None:
    for option, value in given.items():
        if value is not None:
            raise InkdriftError(
                option,
                "this goes with the name of one perturbation",
                hint=f"gen perturbations NAME {option} ...",
            )


def _check_picture(file: Path, *, overwrite: bool) -> None:
    """Refuse, before anything is drawn, a file that can't be written."""
    if file.suffix.lower() != _PICTURE:
        raise OutputError(
            str(file),
            "a picture is written as PNG",
            allowed=f"a name that ends in {_PICTURE}",
            hint=str(file.with_suffix(_PICTURE)) if file.name else None,
        )
    if file.is_dir():
        raise OutputError(str(file), "is a folder, not a file", hint="another name")
    if file.exists() and not overwrite:
        raise OutputError(
            str(file), "this file is there already", hint="another name, or --overwrite"
        )
    if not file.parent.is_dir():
        raise OutputError(str(file), "its folder isn't there", hint="make it first")
