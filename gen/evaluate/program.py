"""A program in any language as a model: an npy array in, an npy array or lines of text out.

The protocol, all of it:

- On standard input comes an array in npy format, version 1.0, C order, little-endian:
  n pictures in the layout and dtype that are stated.
- On standard output it writes either an npy array, with labels (n,) or scores (n, C), or n
  lines of UTF-8 text: a label each (a class's name, or else its number, counted from 0),
  or C scores each, parted by spaces, tabs or commas.
- It is started for every batch, its standard input ends after the array, and it ends with
  exit code 0. Or, where `stays` is stated, it is started once, answers array after array
  (and flushes each answer), and ends when its standard input does.
- Standard error is shown when it fails, and otherwise not.
"""

from __future__ import annotations

import errno
import os
import shlex
import shutil
import signal
import time
from collections.abc import Sequence
from io import BytesIO
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from gen.core.errors import ModelError
from gen.core.plain_text import printable
from gen.evaluate.pipe import MOST_BYTES, OutOfTimeError, Pipe, TooMuchError
from gen.evaluate.plug import OverdueError, Plug
from gen.evaluate.program_answers import read_all, read_one
from gen.recipe.spelling import nearest

PREFIX = "program:"
SECONDS = 60.0
"""The time limit of a batch."""

_LINES = 6  # of standard error that an error shows
_WIDE = 160


class Program(Plug):
    """A program that is handed arrays on standard input.

    Parameters
    ----------
    command
        The program and its arguments.
    folder
        Where it runs, and what a relative path of it is relative to.
    seconds
        Time limit of a batch, start included.
    stays
        Whether it is started once and answers batch after batch.
    spec
        As it was named, for errors.

    Raises
    ------
    ModelError
        If there is no such program.
    """

    def __init__(
        self, command: Sequence[str], *, folder: Path, seconds: float, stays: bool, spec: str
    ) -> None:
        self.command = tuple(command)
        self.folder = folder.resolve()
        self._seconds = seconds
        self._stays = stays
        self._executable = _found(self.command, self.folder, spec)
        self._running: Pipe | None = None
        how = "started once" if stays else "started for every batch"
        self.role = f"a program, {how}, at most {seconds:g} s a batch"

    def __call__(self, handed: NDArray[Any]) -> object:
        """Hand over an array and read the answer; when that goes wrong, nothing is left running."""
        deadline = time.monotonic() + self._seconds
        try:
            return self._stayed(handed, deadline) if self._stays else self._once(handed, deadline)
        except OutOfTimeError:
            words = self.close()
            raise OverdueError(
                "",
                "the program did not answer in time, and was ended",
                got=_lines(f"{len(handed)} glyphs, not answered in {self._seconds:g} s", words),
                hint="a smaller batch, or more seconds"
                + ("; what stays must flush each answer" if self._stays else ""),
            ) from None
        except TooMuchError:
            much = ModelError(
                "",
                "the program writes without end",
                got=f"over {MOST_BYTES >> 20} MiB for {len(handed)} glyphs",
            )
            raise self._with_words(much) from None
        except BaseException:  # an interrupt, too
            self.close()
            raise

    def files(self) -> list[Path]:
        """Its own file, and every argument that is one."""
        arguments = [self.folder / argument for argument in self.command[1:]]
        return [self._executable, *(path for path in arguments if path.is_file())]

    def close(self) -> str:
        """End it, with its children; the end of its standard error."""
        pipe, self._running = self._running, None
        return "" if pipe is None else pipe.close()

    def _once(self, handed: NDArray[Any], deadline: float) -> object:
        pipe = self._start()
        pipe.send(_npy(handed), last=True)
        data = pipe.rest(deadline)
        code = pipe.ends(deadline)
        if code != 0:
            raise self._ended(code)
        try:
            answer = read_all(data, len(handed))
        except ModelError as error:
            raise self._with_words(error) from error
        self.close()
        return answer

    def _stayed(self, handed: NDArray[Any], deadline: float) -> object:
        pipe = self._running or self._start()
        early = pipe.unasked().strip()
        if early:
            raise self._with_words(
                ModelError(
                    "",
                    "the program wrote more than it was asked for",
                    got=printable(early[:_WIDE].decode("utf-8", "replace")),
                    hint="what it says to people belongs on standard error",
                )
            )
        pipe.send(_npy(handed), last=False)
        try:
            return read_one(pipe, len(handed), deadline)
        except EOFError:
            code = pipe.ends(deadline)
            raise self._ended(code) from None
        except ModelError as error:
            raise self._with_words(error) from error

    def _start(self) -> Pipe:
        try:
            self._running = Pipe([str(self._executable), *self.command[1:]], self.folder)
        except OSError as error:
            hint = None
            if error.errno == errno.ENOEXEC:
                hint = "a script needs #! and its interpreter in its first line"
            raise ModelError(
                "", "the program can't be started", got=error.strerror, hint=hint
            ) from error
        return self._running

    def _ended(self, code: int) -> ModelError:
        words = self.close()
        if code == 0:
            return ModelError(
                "",
                "the program ended before it had answered",
                got=_lines("exit code 0", words),
                hint="where it answers one array and ends, leave out stays",
            )
        return ModelError("", "the program failed", got=_lines(_how(code), words))

    def _with_words(self, error: ModelError) -> ModelError:
        """An error about what it wrote, with what it said on standard error."""
        words = self.close()
        got = error.got if not words.strip() else _lines(str(error.got), words)
        return ModelError("", error.fact, got=got, allowed=error.allowed, hint=error.hint)


def command_of(text: str, spec: str) -> tuple[str, ...]:
    """A command as a shell would part it.

    Raises
    ------
    ModelError
        If there is none, or a quote is never closed.

    Examples
    --------
    >>> command_of("node 'my reader.js' --fast", "")
    ('node', 'my reader.js', '--fast')
    """
    try:
        parts = tuple(shlex.split(text))
    except ValueError as error:
        raise ModelError(spec, "this command can't be read", got=error) from error
    if not parts:
        raise ModelError(spec, "there is no command", allowed="program:COMMAND WITH ARGUMENTS")
    return parts


def _found(command: tuple[str, ...], folder: Path, spec: str) -> Path:
    name = command[0]
    if os.sep not in name and "/" not in name:
        found = shutil.which(name)
        if found is not None:
            return Path(found).absolute()  # links are kept: some programs go by their name
        beside = folder / name
        raise ModelError(
            spec,
            "there is no such program",
            got=name,
            allowed="a program on the PATH, or a path to one",
            hint=f'"./{name}"' if beside.is_file() else None,
        )
    path = folder / Path(name).expanduser()
    if not path.is_file():
        known = [p.name for p in path.parent.iterdir()] if path.parent.is_dir() else []
        near = nearest(path.name, known) if len(known) > 1 else None
        raise ModelError(
            spec,
            "there is no such program",
            got=path,
            hint=f'"{Path(name).with_name(near)}"' if near else None,
        )
    if not os.access(path, os.X_OK):
        raise ModelError(
            spec,
            "this file may not be executed",
            got=path,
            hint=f"chmod +x {shlex.quote(name)}, or name its interpreter before it",
        )
    return path


def _npy(handed: NDArray[Any]) -> bytes:
    out = BytesIO()
    little = handed.astype(handed.dtype.newbyteorder("<"), order="C", copy=False)
    np.lib.format.write_array(out, little, version=(1, 0), allow_pickle=False)
    return out.getvalue()


def _how(code: int) -> str:
    if code > 0:
        return f"exit code {code}"
    try:
        return f"ended by {signal.Signals(-code).name}"
    except ValueError:
        return f"ended by signal {-code}"


def _lines(first: str, words: str) -> str:
    """A fact, and under it the last lines of standard error."""
    said = [printable(line.rstrip())[:_WIDE] for line in words.splitlines() if line.strip()]
    return "\n            ".join([f"{first}; it said:" if said else first, *said[-_LINES:]])
