"""The command `gen`: finds its commands when they are asked for, and ends well."""

from __future__ import annotations

import io
import os
import signal
import sys
from collections.abc import Mapping
from contextlib import suppress
from importlib import import_module
from typing import NoReturn

import click
from click.shell_completion import CompletionItem

from gen.cli.narrow import width_of_help
from gen.cli.process import (
    Ended,
    end_like_interrupted,
    open_closed_streams,
    program_name,
)
from gen.cli.usage import Group, misuse
from gen.core.errors import InkdriftError
from gen.core.version import VERSION

COMMANDS: Mapping[str, tuple[str, str]] = {
    "collect": ("gen.cli.collect:collect", "Cut the marks out of photographs of paper."),
    "compare": ("gen.cli.compare:compare", "Say which of several models reads better, and where."),
    "completion": ("gen.cli.completion:completion", "Print what makes a shell complete gen."),
    "demo": ("gen.cli.demo:demo", "See it work on an invented shed; needs no input."),
    "diagnose": ("gen.cli.diagnose:diagnose", "Say why a model fails on your drawings."),
    "measure": ("gen.cli.measure:measure", "Measure drawings, and hold them against others."),
    "perturbations": (
        "gen.cli.perturbations:perturbations",
        "List what may happen to a mark, or show one.",
    ),
    "recipe": ("gen.cli.recipe:recipe", "Check, list, show, compare and begin recipes."),
    "render": ("gen.cli.render:render", "Write a stress set that ordinary code can read."),
    "report": ("gen.cli.report:report", "Say how far a mark may stray before a model misreads it."),
    "sheet": ("gen.cli.sheet:sheet", "Draw a sheet to print and write on."),
    "verify": ("gen.cli.verify:verify", "Hold a stress set to its manifest and its recipe."),
}
"""Each command with where it is and its line of help, so that help imports none of them."""

INTERRUPTED = 130
"""Exit code after Ctrl-C: 128 and the number of SIGINT, as shells have it."""
ENDED = 143
"""Exit code after SIGTERM."""


CODES = {
    "0": "done, and nothing to object to",
    "1": "done, and the answer is no: a requirement is missed, a stress set differs from its "
    "manifest or one recipe from another, a failure has no explanation, a photo had to be left out",
    "2": "something given can't be used, or can't be written",
    f"{INTERRUPTED}": "ended with Ctrl-C",
    f"{ENDED}": "asked to end by another program (SIGTERM)",
}
"""Exit codes with their meaning."""
VARIABLES = {
    "INKDRIFT_CACHE": "folder in which the answers of models are kept, so that none is asked "
    "twice, and the pictures of perturbations; the user's cache folder when not set",
    "NO_COLOR": "set to anything: no bold letters and no colour, which files, pipes and terminals "
    "with TERM=dumb never get",
}
"""Environment variables with what they do."""


class Commands(Group):
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

    def shell_complete(self, ctx: click.Context, incomplete: str) -> list[CompletionItem[str]]:
        """Commands from the table alone, and options."""
        commands = [
            CompletionItem(name, help=line)
            for name, (_, line) in COMMANDS.items()
            if name.startswith(incomplete)
        ]
        return commands + click.Command.shell_complete(self, ctx, incomplete)

    def format_epilog(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Exit codes and environment variables."""
        for heading, rows in (("Exit codes", CODES), ("Environment variables", VARIABLES)):
            with formatter.section(heading):
                formatter.write_dl(list(rows.items()))

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List them from the table alone."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, line) for name, (_, line) in COMMANDS.items()])


@click.command(
    cls=Commands,
    context_settings={"help_option_names": ["-h", "--help"]},
)
@click.version_option(VERSION, prog_name="Inkdrift")
def cli() -> None:
    """Inkdrift says how far a hand-drawn mark may stray before a classifier
    misreads it, and what is wrong when it does.

    \b
    Start with:
      gen demo --into inkdrift-demo
      gen report inkdrift-demo/readers.py:slipped first-look --into slipped-report \\
          --glyphs inkdrift-demo/held-out-images-idx3-ubyte.gz --classes 0-9A-H
    """


def run() -> None:
    """Run the command line; bad input ends with 2, an interrupt with 130."""
    open_closed_streams()
    end_like_interrupted()
    for stream in (sys.stdout, sys.stderr):
        # A file's name may hold bytes that are no text, and not every terminal knows every letter.
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")
    code = 0
    try:
        code = _invoke()
        if sys.stdout is not None:
            sys.stdout.flush()
    except InkdriftError as error:
        _end(str(error), error.exit_code)
    except click.UsageError as error:
        told = misuse(error, error.ctx)
        _end(str(told), told.exit_code)
    except Ended:
        _end("asked to end; nothing was left half-written", ENDED)
    except (click.Abort, KeyboardInterrupt):
        _end("interrupted; nothing was left half-written", INTERRUPTED)
    except BrokenPipeError:
        # The reader of our output has gone, as `| head` does; that is no fault of its own.
        _end(None, code)
    except OSError as error:
        where = "standard output" if error.filename is None else str(error.filename)
        fact = "can't be read or written" if error.filename else "can't be written"
        _end(str(InkdriftError(where, fact, got=error.strerror or error)), 2)
    except MemoryError:
        hint = "fewer glyphs (--count), or a smaller frame"
        _end(str(InkdriftError("", "there isn't enough memory for this", hint=hint)), 2)
    sys.exit(code)


def _invoke() -> int:
    name = program_name()
    if "_GEN_COMPLETE" in os.environ:
        from gen.cli.shells import answer

        return answer(cli)  # a shell completes a line
    try:
        with cli.make_context(name, sys.argv[1:], terminal_width=width_of_help()) as context:
            cli.invoke(context)
    except click.exceptions.Exit as done:
        return done.exit_code
    return 0


def _end(said: str | None, code: int) -> NoReturn:
    """Say the last words, and let nothing that still waits to be written fail at exit."""
    if code in (INTERRUPTED, ENDED):
        signal.signal(signal.SIGINT, signal.SIG_IGN)  # it is ending already
    if said is not None:
        from gen.cli.talk import harmless

        with suppress(OSError):
            click.echo(harmless(said), err=True)
    for stream in (sys.stdout, sys.stderr):
        if stream is None:
            continue
        try:
            stream.flush()
        except OSError:
            os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
    sys.exit(code)
