"""A progress bar for long work: how much, how fast, how long yet."""

from __future__ import annotations

import shutil
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager

import click

from gen.cli.emphasis import is_steerable
from gen.cli.talk import Talk


class Rated:
    """Progress that is shown on a terminal, and lines that don't get in its way.

    Parameters
    ----------
    talk
        Says the lines.
    label
        Stands before the bar.
    """

    def __init__(self, talk: Talk, label: str) -> None:
        stream = sys.stderr  # None when it was closed
        self._shown = not talk.quiet and is_steerable(stream)
        self._talk = talk
        self._label = label
        self._later: list[str] = []
        self._since = (0.0, 0)
        self._bar: click._termui_impl.ProgressBar[int] | None = None

    def told(self, done: int, total: int) -> None:
        """So many of so many are done; the bar begins with the first that is heard."""
        if not self._shown:
            return
        if self._bar is None:
            self._bar = _bar(self._label, total)
            self._bar.__enter__()
            self._since = (time.monotonic(), done)
        began, before = self._since
        seconds = time.monotonic() - began
        rate = round((done - before) / seconds) if seconds > 0 and done > before else None
        self._bar.update(done - self._bar.pos, rate)

    def say(self, line: str) -> None:
        """A line: at once, or after the bar when there is one."""
        if self._bar is None:
            self._talk.say(line)
        else:
            self._later.append(line)

    def end(self) -> None:
        """Close the bar and say what waited for that."""
        if self._bar is not None:
            self._bar.__exit__(None, None, None)
            self._bar = None
        for line in self._later:
            self._talk.say(line)


@contextmanager
def rated(talk: Talk, label: str) -> Iterator[Rated]:
    """`Rated`, ended in any case."""
    made = Rated(talk, label)
    try:
        yield made
    finally:
        made.end()


def _bar(label: str, total: int) -> click._termui_impl.ProgressBar[int]:
    longest = "  []  100%  00:00:00  1,000,000/s "
    room = shutil.get_terminal_size().columns - len(label) - len(longest)
    bar: click._termui_impl.ProgressBar[int] = click.progressbar(
        length=total,
        label=label,
        file=sys.stderr,
        width=max(4, min(36, room)),
        item_show_func=lambda rate: None if rate is None else f"{rate:,}/s",
    )
    return bar
