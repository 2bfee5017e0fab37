"""Files that are whole or not there: staged, then given their names."""

from __future__ import annotations

import hashlib
import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from gen.core.errors import OutputError


@contextmanager
def whole_file(path: Path) -> Iterator[Path]:
    """A scratch path beside `path` that takes its name once the block has ended well.

    Parameters
    ----------
    path
        Where the file is to be. An older file of that name is replaced at once.

    Examples
    --------
    >>> folder = Path(tempfile.mkdtemp())
    >>> with whole_file(folder / "note.txt") as scratch:
    ...     _ = scratch.write_text("dry by noon", encoding="utf-8")
    >>> (folder / "note.txt").read_text(encoding="utf-8")
    'dry by noon'
    """
    scratch = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        yield scratch
        scratch.replace(path)
    except OSError as error:
        raise _cannot_write(path, error) from error
    finally:
        scratch.unlink(missing_ok=True)


@contextmanager
def whole_folder(folder: Path, *, overwrite: bool = False) -> Iterator[Path]:
    """A scratch folder whose content moves into `folder` once the block has ended well.

    Whatever ends the block early, an interrupt too, leaves `folder` as it was.
    Things in `folder` that were not written anew are left alone.

    Parameters
    ----------
    folder
        Where things are to be; made when it isn't there.
    overwrite
        Whether a folder that holds something already may be written into.

    Raises
    ------
    OutputError
        If it is a file, holds something and may not be overwritten, or can't be written.
    """
    check_free(folder, overwrite=overwrite)
    parent = folder.resolve().parent
    try:
        parent.mkdir(parents=True, exist_ok=True)
        scratch = Path(tempfile.mkdtemp(prefix=f".{folder.name}.", suffix=".part", dir=parent))
    except OSError as error:
        raise _cannot_write(folder, error) from error
    try:
        # mkdtemp makes folders that only their owner can read.
        scratch.chmod(0o777 & ~_umask())
        yield scratch
        _move_in(scratch, folder)
    except OSError as error:
        raise _cannot_write(folder, error) from error
    finally:
        shutil.rmtree(scratch, ignore_errors=True)


def check_free(folder: Path, *, overwrite: bool) -> None:
    """Refuse a folder that can't be written into, before any work is done.

    Raises
    ------
    OutputError
        If it is a file, or holds something and may not be overwritten.
    """
    if folder.exists() and not folder.is_dir():
        raise OutputError(str(folder), "is a file, not a folder", hint="another name")
    if not overwrite and folder.is_dir() and any(folder.iterdir()):
        raise OutputError(
            str(folder),
            "the folder isn't empty",
            hint="another folder, or --overwrite to replace what is in it",
        )


def _move_in(scratch: Path, folder: Path) -> None:
    if not folder.exists():
        scratch.replace(folder)
        return
    folder.mkdir(exist_ok=True)
    for item in sorted(scratch.iterdir()):
        target = folder / item.name
        if target.is_dir() and not target.is_symlink():
            shutil.rmtree(target)
        elif item.is_dir():
            target.unlink(missing_ok=True)
        item.replace(target)


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def _cannot_write(path: Path, error: OSError) -> OutputError:
    return OutputError(str(path), "can't be written", got=error.strerror or str(error))


def file_digest(path: Path) -> str:
    """SHA-256 of a file, read a piece at a time."""
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()
