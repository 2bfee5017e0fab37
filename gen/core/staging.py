"""A staging folder that is found again, so that work that was ended early goes on."""

from __future__ import annotations

import os
import shutil
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import IO

from gen.core.errors import OutputError
from gen.core.files import INSIDE, cannot_write, undisturbed


@dataclass
class Staging:
    """A folder that only this process works in.

    Attributes
    ----------
    folder
        Where things are to be in the end.
    place
        Where they are made: always the same for one `folder`.
    keep
        Whether `place` stays when the work ends, to go on from later.
    """

    folder: Path
    place: Path
    keep: bool = False


def staging_place(folder: Path) -> Path:
    """Where things for a folder are staged: beside it, on the same disk, under a hidden name.

    A folder that is there already and is a mounted disk, or lies where nothing may be
    made beside it, has its staging inside.

    Examples
    --------
    >>> staging_place(Path("/shed/stress")).as_posix()
    '/shed/.stress.part'
    """
    real = folder.resolve()
    if real.is_dir():
        mounted = real.stat().st_dev != real.parent.stat().st_dev
        if mounted or not os.access(real.parent, os.W_OK):
            return real / INSIDE
    return real.with_name(f".{real.name}.part")


@contextmanager
def staging(folder: Path) -> Iterator[Staging]:
    """The staging folder of `folder`, made or found, held by this process alone.

    It is removed when the block ends, with any folders above it that were made for
    it, unless `keep` was set.

    Raises
    ------
    OutputError
        If another process holds it, or it can't be made.
    """
    stage = None
    missing: list[Path] = []
    lock: IO[bytes] | None = None
    try:
        place = staging_place(folder)
        missing = [above for above in place.parents if not above.exists()]
        lock = _locked(place, folder)
        stage = Staging(folder, place)
        yield stage
    except OSError as error:
        raise cannot_write(folder, error) from error
    finally:
        with undisturbed():
            if stage is not None and not stage.keep:
                shutil.rmtree(stage.place, ignore_errors=True)
            if lock is not None:
                lock.close()
            for above in missing:
                if above.is_dir() and not any(above.iterdir()):
                    above.rmdir()


def _locked(place: Path, folder: Path) -> IO[bytes]:
    """An open lock file in `place`; the system lets go of it however this process ends."""
    path = place / "lock"
    while True:
        place.mkdir(parents=True, exist_ok=True)
        stream = path.open("ab")
        if not _taken(stream):
            stream.close()
            raise OutputError(
                str(folder),
                "another run is writing it",
                hint="wait until that has ended, or write into another folder",
            )
        try:
            if os.path.samestat(os.fstat(stream.fileno()), path.stat()):
                return stream
        except FileNotFoundError:
            pass  # the run that held it has just ended and taken the folder away
        stream.close()


if sys.platform == "win32":

    def _taken(stream: IO[bytes]) -> bool:
        import msvcrt

        try:
            msvcrt.locking(stream.fileno(), msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True

else:

    def _taken(stream: IO[bytes]) -> bool:
        import fcntl

        try:
            fcntl.flock(stream, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        except OSError:
            return True  # a file system that knows no locks
        return True
