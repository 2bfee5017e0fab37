"""The command `gen`: finds its commands when they are asked for, and ends well."""

from __future__ import annotations

import os
import sys
from collections.abc import Mapping
from importlib import import_module

import click

from gen.core.version import VERSION

COMMANDS: Mapping[str, tuple[str, str]] = {
    "demo": ("gen.cli.demo:demo", "See it work on an invented shed; needs no input."),
    "recipe": ("gen.cli.recipe:recipe", "Check, list, show and begin recipes."),
    "render": ("gen.cli.render:render", "Write a stress set that ordinary code can read."),
    "report": ("gen.cli.report:report", "Say how far a mark may stray before a model misreads it."),
}
"""Each command with where it is and its line of help, so that help imports none of them."""

INTERRUPTED = 130
"""Exit code after Ctrl-C: 128 and the number of SIGINT, as shells have it."""


class Commands(click.Group):
    """A group whose commands are imported when they are called."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """All of them, in the order of the table."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import one."""
        if cmd_name not in COMMANDS:
            return None
        module, name = COMMANDS[cmd_name][0].split(":")
        command = getattr(import_module(module), name)
        assert isinstance(command, click.Command)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List them from the table alone."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, line) for name, (_, line) in COMMANDS.items()])


@click.command(cls=Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(VERSION, prog_name="Inkdrift")
def cli() -> None:
    """Inkdrift says how far a hand-drawn mark may stray before a classifier
    misreads it, and what is wrong when it does.

    \b
    Start with:
      gen demo
      gen report my_model.py:model first-look --glyphs t10k-images-idx3-ubyte.gz --into report
    """


def run() -> None:
    """Run the command line; bad input ends with 2, an interrupt with 130."""
    from gen.core.errors import InkdriftError

    try:
        code = cli.main(standalone_mode=False)
    except InkdriftError as error:
        click.echo(str(error), err=True)
        sys.exit(error.exit_code)
    except click.ClickException as error:
        error.show()
        sys.exit(error.exit_code)
    except (click.Abort, KeyboardInterrupt):
        click.echo("interrupted; nothing was left half-written", err=True)
        sys.exit(INTERRUPTED)
    except BrokenPipeError:
        # The reader of our output has gone, as `| head` does; that is no fault.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(0)
    sys.exit(code if isinstance(code, int) else 0)
