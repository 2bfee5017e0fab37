"""`gen demo`: see it work, with nothing but the command."""

from __future__ import annotations

from pathlib import Path

import click

from gen.cli.shared_options import into_option, overwrite_option
from gen.cli.talk import Talk
from gen.cli.usage import Command


@click.command(cls=Command)
@into_option(default="inkdrift-demo", show_default=True)
@overwrite_option
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
    tell(
        folder,
        overwrite=overwrite,
        say=lambda paragraph: talk.say(paragraph + "\n"),
        during=talk.progress,
    )
    talk.say(f"All of it is in {folder}.")
