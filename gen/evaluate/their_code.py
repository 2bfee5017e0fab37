"""Running somebody's code, and what it raised in a line."""

from __future__ import annotations

import contextlib
import os
import sys
import sysconfig
import traceback
from collections.abc import Iterator
from pathlib import Path

_OURS = str(Path(__file__).resolve().parents[1]) + os.sep
_LONGEST = 400  # letters of an exception's own words


@contextlib.contextmanager
def in_their_house(folder: Path | None) -> Iterator[None]:
    """Run somebody's code: neighbours can be imported, and standard output stays ours.

    What the code prints goes to standard error, because standard output may be
    carrying a report.
    """
    added = None if folder is None else str(folder)
    if added is not None:
        sys.path.insert(0, added)
    try:
        with contextlib.redirect_stdout(sys.stderr):
            yield
    finally:
        if added is not None and added in sys.path:
            sys.path.remove(added)


def said(error: BaseException) -> str:
    """An exception in one line: its kind, its own words, and where it was raised.

    The place is the innermost line that is neither ours nor a library's; when
    there is none, the innermost line.
    """
    if isinstance(error, SyntaxError) and error.filename:
        return f"{type(error).__name__}: {error.msg} ({Path(error.filename).name}:{error.lineno})"
    words = " ".join(own_words(error).split())
    if len(words) > _LONGEST:  # some libraries print whole arrays
        words = f"{words[: _LONGEST - 3]}..."
    text = f"{type(error).__name__}: {words}" if words else type(error).__name__
    frames = traceback.extract_tb(error.__traceback__)
    theirs = [frame for frame in frames if not is_library(frame.filename)]
    outside = [frame for frame in frames if not frame.filename.startswith(_OURS)]
    if theirs or outside:
        frame = (theirs or outside)[-1]
        text += f" ({Path(frame.filename).name}:{frame.lineno})"
    return text


def own_words(error: BaseException) -> str:
    """What an exception says of itself; nothing where it fails even at that."""
    try:
        return str(error)
    except Exception:
        return ""


def is_installed(path: Path) -> bool:
    """Whether a file is Python's, a library's, this package's, the system's, or compiled code.

    Those change with what is installed, and not with the model.
    """
    text = str(path.resolve())
    system = text.startswith(("/proc/", "/sys/", "/dev/", sys.prefix + os.sep + "lib"))
    return system or path.suffix == ".pyc" or is_library(text) or "site-packages" in path.parts


def is_library(file: str) -> bool:
    """Whether a file is of Python itself, of a library, or of this package."""
    houses = {sysconfig.get_path(name) for name in ("stdlib", "platstdlib", "purelib", "platlib")}
    return file.startswith(("<frozen", _OURS, *(house + os.sep for house in houses)))
