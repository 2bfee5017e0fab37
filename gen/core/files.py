"""Files that are whole or not there: staged, then given their names."""

from __future__ import annotations

import hashlib
import os
import shutil
import signal
import tempfile
import threading
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from gen.core.errors import OutputError

INSIDE = ".inkdrift.part"
"""Where things are staged in a folder that nothing can be staged beside."""


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
        raise cannot_write(path, error) from error
    finally:
        with suppress(OSError):  # where nothing can be written nothing can be taken away
            scratch.unlink(missing_ok=True)


@contextmanager
def whole_folder(
    folder: Path, *, overwrite: bool = False, stale: Iterable[str] = ()
) -> Iterator[Path]:
    """A scratch folder whose content moves into `folder` once the block has ended well.

    Whatever ends the block early, an interrupt too, leaves `folder` as it was, and
    takes away any folders above it that were made for it. Things in `folder` that
    were not written anew are left alone.

    Parameters
    ----------
    folder
        Where things are to be; made when it isn't there.
    overwrite
        Whether a folder that holds something already may be written into.
    stale
        Files of an earlier run, relative to `folder`, which go when the new ones come;
        those that come anew are replaced.

    Raises
    ------
    OutputError
        If it is a file, holds something and may not be overwritten, also by the time
        that the block has ended, or can't be written.
    """
    check_free(folder, overwrite=overwrite)
    parent = folder.resolve().parent
    missing = [above for above in (parent, *parent.parents) if not above.exists()]
    scratch = None
    try:
        parent.mkdir(parents=True, exist_ok=True)
        scratch = Path(tempfile.mkdtemp(prefix=f".{folder.name}.", suffix=".part", dir=parent))
        # mkdtemp makes folders that only their owner can read.
        scratch.chmod(0o777 & ~_umask())
        yield scratch
        with undisturbed():
            check_free(folder, overwrite=overwrite)  # another run may have been faster
            gone = [name for name in stale if not (scratch / name).exists()]
            move_in(scratch, folder, gone)
    except OSError as error:
        raise cannot_write(folder, error) from error
    except OutputError as error:
        if scratch is None or str(scratch) not in error.where:
            raise
        # The scratch folder is nothing that anybody named.
        raise error.at(error.where.replace(str(scratch), str(folder))) from error
    finally:
        with undisturbed():
            if scratch is not None:
                shutil.rmtree(scratch, ignore_errors=True)
            for above in missing:
                if above.is_dir() and not any(above.iterdir()):
                    above.rmdir()


def check_free(folder: Path, *, overwrite: bool) -> None:
    """Refuse a folder that can't be written into, before any work is done.

    Raises
    ------
    OutputError
        If it is a file or lies in one, holds something and may not be overwritten, or
        nothing may be written there.
    """
    try:
        there = folder.exists()
        full = there and folder.is_dir() and any(one.name != INSIDE for one in folder.iterdir())
    except (OSError, ValueError) as error:  # ValueError: a zero byte in the path
        raise cannot_write(folder, error) from error
    if there and not folder.is_dir():
        raise OutputError(str(folder), "is a file, not a folder", hint="another name")
    if full and not overwrite:
        raise OutputError(
            str(folder),
            "the folder isn't empty",
            hint="another folder, or --overwrite to replace what is in it",
        )
    place = next((one for one in (folder, *folder.absolute().parents) if one.exists()), folder)
    if not place.is_dir():
        said = f"{place} is a file, not a folder"
        raise OutputError(str(folder), "can't be written", got=said, hint="another name")
    if not os.access(place, os.W_OK | os.X_OK):
        raise OutputError(
            str(folder),
            "can't be written",
            got=f"{place} may not be written into",
            hint="another folder",
        )


def move_in(scratch: Path, folder: Path, stale: Iterable[str]) -> None:
    """Give what is in `scratch` its place in `folder`, after taking `stale` files away.

    Ended halfway and called again it goes on, if nothing stale is among what is new.
    """
    if not folder.exists():
        scratch.replace(folder)
        return
    _check_kinds(scratch, folder)
    for name in stale:
        _take_away(folder, name)
    _merge(scratch, folder)


def _check_kinds(scratch: Path, folder: Path) -> None:
    """Refuse, before anything is moved, to put a file where a folder is or a folder on a file."""
    for item in sorted(scratch.rglob("*")):
        target = folder / item.relative_to(scratch)
        if target.exists() and item.is_dir() != target.is_dir():
            is_, wanted = ("file", "folder") if item.is_dir() else ("folder", "file")
            raise OutputError(
                str(target),
                f"there is a {is_} where a {wanted} is to be written",
                hint="move it away, or write into another folder",
            )


def _take_away(folder: Path, name: str) -> None:
    """One file of an earlier run, and the folders that are empty without it."""
    old = folder / name
    # The name comes from a file that anybody may have written.
    if Path(name).is_absolute() or ".." in Path(name).parts or not old.is_file():
        return
    old.unlink()
    for above in old.parents:
        if above == folder or any(above.iterdir()):
            return
        above.rmdir()


def _merge(scratch: Path, folder: Path) -> None:
    for item in sorted(scratch.iterdir()):
        target = folder / item.name
        if item.is_dir() and target.exists():
            _merge(item, target)
        else:
            item.replace(target)


@contextmanager
def undisturbed() -> Iterator[None]:
    """Let no interrupt in: a second, impatient Ctrl-C must not leave half of the scratch."""
    if threading.current_thread() is not threading.main_thread():
        yield  # only the main thread is ever interrupted
        return
    before = {one: signal.signal(one, signal.SIG_IGN) for one in (signal.SIGINT, signal.SIGTERM)}
    try:
        yield
    finally:
        for one, handler in before.items():
            signal.signal(one, signal.SIG_DFL if handler is None else handler)


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def cannot_write(path: Path, error: OSError | ValueError) -> OutputError:
    """What the system said, as an error that names the path."""
    why = error.strerror if isinstance(error, OSError) else None
    return OutputError(str(path), "can't be written", got=why or str(error))


def file_digest(path: Path) -> str:
    """SHA-256 of a file, read a piece at a time."""
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()
