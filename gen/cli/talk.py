"""Talk goes to standard error, so that data can have standard output to itself."""

from __future__ import annotations

import shutil
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import click

from gen.cli.emphasis import is_steerable
from gen.core.plain_text import printable


def harmless(text: str) -> str:
    r"""Text that can't steer a terminal: only its line ends are acted on.

    Examples
    --------
    >>> print(harmless("plum\x1b[2J\npear"))
    plum\u001b[2J
    pear
    """
    return "\n".join(map(printable, text.split("\n")))


class Talk:
    """Lines for the person at the terminal, unless they asked for quiet."""

    def __init__(self, *, quiet: bool) -> None:
        self.quiet = quiet

    def say(self, line: str = "") -> None:
        """One line, or several; names in them come from files."""
        if not self.quiet:
            click.echo(harmless(line), err=True)

    def facts(self, name: str, lines: tuple[str, ...] | list[str]) -> None:
        """Lines under one name, which stands before the first."""
        for number, line in enumerate(lines):
            self.say(f"{'' if number else name:<10}{line}")

    @contextmanager
    def progress(self, label: str) -> Iterator[Callable[[int, int], None]]:
        """A bar with time left, when standard error is a terminal that can show it."""
        stream = sys.stderr  # None when it was closed
        if self.quiet or not is_steerable(stream):
            yield lambda done, total: None
            return
        room = shutil.get_terminal_size().columns - len(label) - len("  []  100%  00:00:00 ")
        width = max(4, min(36, room))
        bar = click.progressbar(length=1, label=label, file=stream, width=width)
        with bar:

            def told(done: int, total: int) -> None:
                bar.length = total
                bar.update(done - bar.pos)

            yield told
            # Work that took fewer steps than were thought has come to its end too.
            bar.finish()
            bar.render_progress()


def columns() -> int:
    """How wide what is printed may be: the terminal, and no more than a person reads easily."""
    return min(100, shutil.get_terminal_size((80, 24)).columns)


def many(count: int, word: str, plural: str | None = None) -> str:
    """A count with its word: "1 sweep", "3 sweeps"."""
    return f"{count:,} {word if count == 1 else plural or word + 's'}"
