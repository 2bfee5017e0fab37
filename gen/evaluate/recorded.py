"""Which files were opened for reading while a model was imported.

Weights, lists of classes and training data are read then, and a model changes with them.
"""

from __future__ import annotations

import contextlib
import os
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

_recording: list[tuple[str, bool]] | None = None
_hooked = False


@contextlib.contextmanager
def opened_files() -> Iterator[list[Path]]:
    """Fill a list with the files that are read, and not also written, inside.

    What is opened by C code without Python's knowledge, such as OpenCV's own files, isn't
    seen; nor is what is opened later.
    """
    global _recording, _hooked  # noqa: PLW0603 - an audit hook can't be taken away, so there is one
    files: list[Path] = []
    outer, _recording = _recording, []
    if not _hooked:
        sys.addaudithook(_hear)
        _hooked = True
    try:
        yield files
    finally:
        heard, _recording = _recording or [], outer
        if outer is not None:  # a model that loads another one is made of its files, too
            outer += heard
        written = {name for name, writes in heard if writes}
        names = dict.fromkeys(name for name, writes in heard if not writes)
        files += [Path(name) for name in names if name not in written and Path(name).is_file()]


def _hear(event: str, arguments: tuple[Any, ...]) -> None:
    if _recording is None or event != "open":
        return
    # Nothing may be raised here: it would end whatever is being opened.
    with contextlib.suppress(Exception):
        name, mode, flags = arguments[:3]
        if isinstance(name, (str, bytes, os.PathLike)):
            path = os.fsdecode(name)
            if isinstance(mode, str):
                writes = any(letter in mode for letter in "wax+")
            else:
                writes = bool(flags & (os.O_WRONLY | os.O_RDWR))
            _recording.append((os.path.abspath(path), writes))  # noqa: PTH100 - must not follow links
