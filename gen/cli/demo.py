"""`gen demo`: see it work, with nothing but the command."""

from __future__ import annotations

from pathlib import Path

import click

from gen.cli.talk import Talk


@click.command()
@click.option(
    "--into",
    "folder",
    type=click.Path(path_type=Path),
    default="inkdrift-demo",
    show_default=True,
    help="Folder to write; it appears whole or not at all.",
)
@click.option(
    "--overwrite",
    is_flag=True,
    help="Write into a folder that isn't empty: what an earlier run wrote is replaced, the rest "
    "stays.",
)
@click.option("--quiet", is_flag=True, help="Say nothing but errors.")
def demo(*, folder: Path, overwrite: bool, quiet: bool) -> None:
    """Train two small readers of crate tags, one with a fault, and tell them apart.

    Needs no input and takes less than a minute. Everything in it is invented.

    \b
    Example:
      gen demo --into inkdrift-demo
    """
    from gen.demo.story import tell

    talk = Talk(quiet=quiet)
    tell(folder, overwrite=overwrite, say=lambda paragraph: talk.say(paragraph + "\n"))
    talk.say(f"All of it is in {folder}.")
