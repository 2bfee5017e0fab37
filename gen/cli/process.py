"""What a command has to do with the process it runs in: its name, its streams, its signals."""

from __future__ import annotations

import os
import re
import signal
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from types import FrameType

_PLAIN = re.compile(r"[\w@%+=:,./~-]+", re.ASCII)


class Ended(KeyboardInterrupt):
    """Another program asked this one to end; it cleans up as after Ctrl-C."""


def end_like_interrupted() -> None:
    """Make a polite request to end (SIGTERM) clean up scratch files, as Ctrl-C does."""

    def end(number: int, frame: FrameType | None) -> None:
        del number, frame
        raise Ended

    signal.signal(signal.SIGTERM, end)


def program_name() -> str:
    """How this program was called: "gen", or "python -m gen"."""
    return "python -m gen" if Path(sys.argv[0]).name == "__main__.py" else "gen"


def again(arguments: Sequence[str]) -> str:
    """A command line that can be pasted to do the same once more.

    Its folder isn't empty any more, so it overwrites.

    Examples
    --------
    >>> again(["report", "my model.py:read", "first-look", "--into", "out"])
    "gen report 'my model.py:read' first-look --into out --overwrite"
    """
    said = list(arguments)
    if "--overwrite" not in said:
        said.append("--overwrite")
    return " ".join([program_name(), *map(quoted, said)])


def quoted(word: str) -> str:
    r"""A word as a shell takes it, in one printable line whatever is in it.

    Examples
    --------
    >>> quoted("plain"), quoted("two words"), quoted("it's"), quoted("")
    ('plain', "'two words'", "$'it\\x27s'", "''")
    >>> print(quoted("line\nend"))
    $'line\x0aend'
    """
    if _PLAIN.fullmatch(word):
        return word
    if word.isprintable() and "'" not in word:
        return f"'{word}'"
    # Bytes that are no text come from the system as half characters; os.fsencode knows them.
    return "$'" + "".join(map(_escaped, word)) + "'"


def _escaped(character: str) -> str:
    if character.isprintable() and character not in "'\\":
        return character
    return "".join(f"\\x{byte:02x}" for byte in os.fsencode(character))


@contextmanager
def standard_output_kept() -> Iterator[None]:
    """Send to standard error whatever reaches file descriptor 1 inside, from any language."""
    if sys.stdout is not None:
        sys.stdout.flush()
    kept = os.dup(1)
    os.dup2(2, 1)
    try:
        yield
    finally:
        if sys.__stdout__ is not None:
            sys.__stdout__.flush()  # what was printed inside and still waits in the buffer
        os.dup2(kept, 1)
        os.close(kept)


def open_closed_streams() -> None:
    """Put the null device where a standard stream was closed.

    Or else the next file to be opened would take its number, and get what programs
    print to that number.
    """
    for number in (0, 1, 2):
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, os.O_RDWR)  # takes the lowest number that is free: this one


def plain(text: str) -> str:
    """Text for a terminal that knows no curly quotes.

    Examples
    --------
    >>> plain("\u201c3\u201d")
    '"3"'
    """
    return text.translate({0x201C: '"', 0x201D: '"', 0x2018: "'", 0x2019: "'"})


def shows_blocks() -> bool:
    """Whether standard output can show block characters."""
    try:
        "\u2581\u2588".encode(getattr(sys.stdout, "encoding", None) or "ascii")
    except UnicodeEncodeError:
        return False
    return True
