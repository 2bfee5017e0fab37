"""A digest of the files that a model comes from, by which kept answers are found again."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from pathlib import Path


def of_files(files: Iterable[Path], *said: str) -> str | None:
    """SHA-256 of some files and of what else matters, in hex; None if a file can't be read.

    Parameters
    ----------
    files
        The model's own files, in any order; one that is listed twice counts once.
    said
        What else changes its answers: the name in the file, what it is handed.
    """
    told = hashlib.sha256(repr(said).encode("utf-8"))
    try:
        for path in sorted({file.resolve() for file in files}):
            told.update(repr(path.name).encode("utf-8"))
            with path.open("rb") as file:
                told.update(hashlib.file_digest(file, "sha256").digest())
    except OSError:
        return None
    return told.hexdigest()
