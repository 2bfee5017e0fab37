"""`gen render`: a recipe and some glyphs to a stress set on disk."""

from __future__ import annotations

from pathlib import Path

import click

from gen.cli.complete import recipe_names
from gen.cli.kinds import OneOf, WholeNumber
from gen.cli.rate import rated
from gen.cli.shared_options import into_option, overwrite_option
from gen.cli.sources import Source, glyphs_from, in_a_line, source_options
from gen.cli.talk import Talk, many
from gen.cli.usage import Command


@click.command(cls=Command)
@click.argument("recipe", shell_complete=recipe_names)
@source_options
@into_option(required=True)
@click.option(
    "--format",
    "kind",
    type=OneOf(["npz", "idx", "png"]),
    default="npz",
    show_default=True,
    help="npz: one archive a cell; idx: images and labels as MNIST has them; png: a folder a "
    "class.",
)
@overwrite_option
@click.option(
    "--only",
    multiple=True,
    metavar="NAME",
    help="Render these alone, and nominal: a sweep by its title or perturbation, a cell by its "
    "name, or several with * and ?. May be given more than once.",
)
@click.option(
    "--workers",
    metavar="N",
    type=WholeNumber(least=1),
    default=1,
    show_default=True,
    help="Processes to render in. How many changes no byte.",
)
@click.option(
    "--calibrate",
    is_flag=True,
    help="Print what each level asked for beside what the pictures show, to standard output.",
)
@click.option("--quiet", is_flag=True, help="Say nothing but errors.")
def render(
    *,
    recipe: str,
    source: Source,
    folder: Path,
    kind: str,
    overwrite: bool,
    only: tuple[str, ...],
    workers: int,
    calibrate: bool,
    quiet: bool,
) -> None:
    """Render RECIPE (a path, or the name of one that ships) and write a stress set.

    Every level of every sweep becomes a cell that ordinary code can read, beside
    a picture of each sweep and a manifest that pins what was written.

    Ended at any moment and given once more, the same command goes on where it was:
    cells that are whole are kept in a hidden folder beside the one to write.

    \b
    Example:
      gen render first-look --count 200 --into stress
    """
    from gen.perturb.recipes import read_recipe
    from gen.render.stress_set import check_writable, write_stress_set

    talk = Talk(quiet=quiet)
    check_writable(folder, overwrite=overwrite)
    read = read_recipe(recipe)
    glyphs = glyphs_from(source, seed=read.seed)
    talk.facts("glyphs", [in_a_line(glyphs), *glyphs.provenance.notes])
    with rated(talk, "rendering") as bar:
        manifest = write_stress_set(
            read,
            glyphs,
            folder,
            kind=kind,
            overwrite=overwrite,
            only=only,
            workers=workers,
            progress=bar.told,
            say=bar.say,
        )
    talk.facts("left out", manifest["left_out"])
    talk.say(f"cells     {many(len(manifest['cells']), 'cell')} as {kind} in {folder / 'cells'}")
    sheets = sum(len(manifest[kind]) for kind in ("sweeps", "grids", "blends"))
    talk.say(f"sheets    {many(sheets, 'picture')} in {folder / 'sheets'}")
    talk.say(f"digest    {manifest['digest']}")
    talk.say(f"written   {folder / 'manifest.json'}, with cells and sheets beside it")
    if calibrate:
        from gen.render.calibrate import as_table

        click.echo(as_table(manifest["calibration"]))
