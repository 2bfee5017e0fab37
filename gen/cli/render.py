"""`gen render`: a recipe and some glyphs to a stress set on disk."""

from __future__ import annotations

from pathlib import Path

import click

from gen.cli.sources import Source, glyphs_from, in_a_line, source_options
from gen.cli.talk import Talk, many


@click.command()
@click.argument("recipe")
@source_options
@click.option(
    "--into",
    "folder",
    required=True,
    type=click.Path(path_type=Path),
    help="Folder to write; it appears whole or not at all.",
)
@click.option(
    "--format",
    "kind",
    type=click.Choice(["npz", "idx", "png"]),
    default="npz",
    show_default=True,
    help="npz: one archive a cell; idx: images and labels as MNIST has them; png: a folder a "
    "class.",
)
@click.option(
    "--overwrite",
    is_flag=True,
    help="Write into a folder that isn't empty: what an earlier run wrote is replaced, the rest "
    "stays.",
)
@click.option("--quiet", is_flag=True, help="Say nothing but errors.")
def render(
    *, recipe: str, source: Source, folder: Path, kind: str, overwrite: bool, quiet: bool
) -> None:
    """Render RECIPE (a path, or the name of one that ships) and write a stress set.

    Every level of every sweep becomes a cell that ordinary code can read, beside
    a picture of each sweep and a manifest that pins what was written.

    \b
    Example:
      gen render first-look --count 200 --into stress
    """
    from gen.core.files import check_free
    from gen.perturb.recipes import read_recipe
    from gen.render.stress_set import write_stress_set

    talk = Talk(quiet=quiet)
    check_free(folder, overwrite=overwrite)
    read = read_recipe(recipe)
    glyphs = glyphs_from(source, seed=read.seed)
    talk.facts("glyphs", [in_a_line(glyphs), *glyphs.provenance.notes])
    with talk.progress("rendering") as told:
        manifest = write_stress_set(
            read, glyphs, folder, kind=kind, overwrite=overwrite, progress=told
        )
    talk.facts("left out", manifest["left_out"])
    talk.say(f"cells     {many(len(manifest['cells']), 'cell')} as {kind} in {folder / 'cells'}")
    talk.say(f"sheets    {many(len(manifest['sweeps']), 'picture')} in {folder / 'sheets'}")
    talk.say(f"digest    {manifest['digest']}")
