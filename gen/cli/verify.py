"""`gen verify`: whether a stress set is what its manifest says."""

from __future__ import annotations

import secrets
from pathlib import Path

import click

from gen.cli.kinds import PathName, WholeNumber
from gen.cli.talk import Talk, harmless, many
from gen.cli.usage import Command
from gen.core.errors import OutputError

DIFFERS = 1
"""Exit code when something is not as the manifest says."""


@click.command(cls=Command)
@click.argument("folder", metavar="DIR", type=PathName())
@click.option(
    "--sample",
    metavar="N",
    type=WholeNumber(least=0),
    default=256,
    show_default=True,
    help="How many pictures to render again, spread over all cells; 0 for none.",
)
@click.option(
    "--seed",
    metavar="N",
    type=WholeNumber(least=0),
    help="By which those pictures are drawn. Another each time when left out, and printed.",
)
@click.option("--quiet", is_flag=True, help="Say nothing but what differs, and errors.")
def verify(*, folder: Path, sample: int, seed: int | None, quiet: bool) -> None:
    """Read the stress set in DIR again and hold it to its manifest.

    Every file is compared with its digest, and a random sample of pictures is
    rendered again from the recipe in the manifest, to prove that they came from it.
    What differs is printed, a line each, and the exit code is then 1.

    \b
    Example:
      gen render first-look --count 200 --into stress
      gen verify stress
    """
    from gen.render.verify import verify_stress_set

    if folder.is_file():
        raise OutputError(
            str(folder), "is a file, not a folder", hint="the folder that gen render wrote"
        )
    talk = Talk(quiet=quiet)
    drawn_by = secrets.randbelow(1_000_000) if seed is None else seed
    with talk.progress("verifying") as told:
        verified = verify_stress_set(folder, sample=sample, seed=drawn_by, progress=told)
    for line in verified.differences:
        click.echo(harmless(line))
    talk.facts("note", verified.notes)
    talk.say(f"files     {many(verified.cells, 'cell')} read and compared with manifest.json")
    talk.say(
        f"sample    {many(verified.rendered, 'picture')} rendered again from the recipe"
        + (f", seed {drawn_by}" if verified.rendered else "")
    )
    if verified.differences:
        talk.say(f"result    {many(len(verified.differences), 'difference')}")
        raise click.exceptions.Exit(DIFFERS)
    talk.say("result    all is as the manifest says")
