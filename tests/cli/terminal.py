"""A terminal to run things in, as a person has one: a pseudo-terminal of the system."""

from __future__ import annotations

import contextlib
import os
import pty
import re
import select
import subprocess
import termios
import time
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

PATIENCE = 40.0
"""Seconds after which something that was waited for is taken not to come."""
_SIGNS = re.compile(
    r"\x1b(?:\[[0-9;?<=>]*[ -/]*[@-~]|\][^\x07\x1b]*(?:\x07|\x1b\\)|[()][0-9A-Za-z]|.)"
)


def without_signs(text: str) -> str:
    """Text without what only steers a terminal."""
    return _SIGNS.sub("", text)


class Terminal:
    """One end of a pseudo-terminal; a program has the other."""

    def __init__(self, end: int) -> None:
        self._end = end
        self.raw = ""

    @property
    def seen(self) -> str:
        """Everything so far, without the signs that steer a terminal."""
        return without_signs(self.raw).replace("\r", "")

    def type(self, keys: str) -> None:
        """Press keys."""
        os.write(self._end, keys.encode())

    def wait_for(self, pattern: str, *, after: int = 0) -> re.Match[str]:
        """Read until something is seen."""
        limit = time.monotonic() + PATIENCE
        while True:
            found = re.compile(pattern, re.MULTILINE).search(self.seen, after)
            if found:
                return found
            if not self._read(limit):
                raise AssertionError(f"{pattern!r} never came; this did: {self.raw!r}")

    def to_the_end(self) -> None:
        """Read until the program has closed its end; it may take long, but not in silence."""
        while self._read(time.monotonic() + PATIENCE):
            pass

    def _read(self, limit: float) -> bool:
        if not select.select([self._end], [], [], max(0.0, limit - time.monotonic()))[0]:
            return False
        try:
            data = os.read(self._end, 65536)
        except OSError:  # Linux says so when the other end is closed
            return False
        self.raw += data.decode("utf-8", "replace")
        return bool(data)


@contextlib.contextmanager
def in_a_terminal(
    arguments: Sequence[str],
    *,
    folder: Path,
    env: Mapping[str, str],
    columns: int = 80,
    piped: Sequence[str] = (),
) -> Iterator[tuple[Terminal, subprocess.Popen[bytes]]]:
    """Run a program whose standard streams are a terminal, but for those that are piped."""
    ours, theirs = pty.openpty()
    termios.tcsetwinsize(theirs, (50, columns))
    streams = {
        name: subprocess.PIPE if name in piped else theirs for name in ("stdin", "stdout", "stderr")
    }
    program = subprocess.Popen(
        arguments, cwd=folder, env=dict(env), start_new_session=True, **streams
    )
    os.close(theirs)
    try:
        yield Terminal(ours), program
    finally:
        if program.poll() is None:
            program.kill()
        program.wait()
        for stream in (program.stdin, program.stdout, program.stderr):
            if stream is not None:
                stream.close()
        os.close(ours)
