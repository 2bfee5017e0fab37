"""A digest of what a model comes from, by which kept answers are found again.

It covers the model's own files, its TOML file, what it expects, the modules that it
imported from its own folder, and the files that were opened while it was imported. It
can't see what C code opens, what is read only when the first batch comes, settings of
the environment, libraries, and whatever a program reads besides its arguments.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from pathlib import Path


def of_files(files: Iterable[Path], *said: str, under: Path | None = None) -> str | None:
    """SHA-256 of some files and of what else matters, in hex; None if a file can't be read.

    Parameters
    ----------
    files
        The model's own files, in any order; one that is listed twice counts once.
    said
        What else changes its answers: the name in the file, what it is handed.
    under
        The model's folder: files in it are told apart by their path in it, others by name.
    """
    told = hashlib.sha256(repr(said).encode("utf-8"))
    try:
        for name, digest in sorted({_digest(file.resolve(), under) for file in files}):
            told.update(repr((name, digest)).encode("utf-8"))
    except OSError:
        return None
    return told.hexdigest()


def _digest(path: Path, under: Path | None) -> tuple[str, str]:
    base = None if under is None else under.resolve()
    name = str(path.relative_to(base)) if base and path.is_relative_to(base) else path.name
    with path.open("rb") as file:
        return name, hashlib.file_digest(file, "sha256").hexdigest()
