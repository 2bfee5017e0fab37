"""Answers kept on disk, so that an interrupted run goes on and no cell is asked twice.

A folder holds what one model, as its file was, said to one set of glyphs: a file a
cell. In a file, 26 bytes a glyph are followed by a byte a glyph that says whether they
are there. That byte is written last, so that a run may end at any moment; and a check of
each glyph's bytes is among them, so that a file that was damaged costs time and no truth.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import shutil
import zlib
from functools import lru_cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from gen.core.version import VERSION
from gen.evaluate.sheet import Record
from gen.glyphs.base import Glyphs
from gen.render.plan import BlendCell, Cell

Whole = NDArray[np.intp]

MOST_BYTES = 10**9
"""Folders that weren't used for longest are removed when all of them hold more."""

_GLYPH = np.dtype(
    [("answered", "<i2"), ("ink_lost", "<f8"), ("shares", "<f4", (3,)), ("check", "<u4")]
)
_CHECKED = _GLYPH.itemsize - 4  # bytes before the check
_WEIGHTS = np.array(
    [zlib.crc32(bytes([place])) | 1 for place in range(_CHECKED + 2)], np.uint32
)  # odd, so that no change of a single byte comes to nothing
_OURS = re.compile("[0-9a-f]{32}")
_LABELS, _SHARES, _BLANK = 1, 2, 3  # what is known of a glyph; 0 is nothing


def usual_folder() -> Path | None:
    """Where answers are kept: in the cache folder; None if there is none."""
    cache = cache_folder()
    return None if cache is None else cache / "answers"


def cache_folder() -> Path | None:
    """INKDRIFT_CACHE, or a place in the user's cache folder; None if there is none."""
    if said := os.environ.get("INKDRIFT_CACHE"):
        return Path(said)
    base = os.environ.get("XDG_CACHE_HOME") or os.environ.get("LOCALAPPDATA")
    try:
        home = Path(base) if base else Path.home() / ".cache"
    except RuntimeError:  # a bare user number, as in a container, has no home
        return None
    return home / "inkdrift"


class KeptAnswers:
    """What one model said to one set of glyphs, on disk.

    Parameters
    ----------
    root
        Folder of all kept answers.
    fingerprint
        Of the model and what it is handed.
    glyphs
        What it is asked about.
    seed
        The recipe's, which noise and blots hang on.

    Attributes
    ----------
    found
        Answers that were read from it so far.
    """

    def __init__(self, root: Path, *, fingerprint: str, glyphs: Glyphs, seed: int) -> None:
        said = [fingerprint, glyphs.provenance.digest, len(glyphs), glyphs.frame, seed]
        told = json.dumps([*said, VERSION, _code()], sort_keys=True)
        self._root = root
        self._n = len(glyphs)
        self._folder = root / hashlib.sha256(told.encode("utf-8")).hexdigest()[:32]
        self.found = 0
        self._told: list[str] = []
        self._works = True
        self._damaged = False

    @property
    def notes(self) -> tuple[str, ...]:
        """What happened, a line each."""
        told = self._told
        if self._damaged:
            told = ["some kept answers were damaged, and asked again", *told]
        if self.found:
            told = [f"{self.found:,} answers of an earlier run were taken as they are", *told]
        return tuple(told)

    def start(self) -> None:
        """Make the folder, and make room for it."""
        try:
            self._folder.mkdir(parents=True, exist_ok=True)
            os.utime(self._folder)
            _make_room(self._root, self._folder)
        except OSError as error:
            self._give_up(error)

    def forget(self) -> None:
        """Forget all answers of this model to these glyphs."""
        shutil.rmtree(self._folder, ignore_errors=True)
        self.start()

    def clear(self) -> None:
        """Forget all answers of this model to these glyphs, since it now says something else."""
        shutil.rmtree(self._folder, ignore_errors=True)
        self._told.append(
            "the model answers otherwise than in an earlier run, though its files are the same: "
            "everything is asked again"
        )
        self.start()

    def some(self, cell: Cell, indices: Whole) -> tuple[Whole, Record] | None:
        """The answers to scattered glyphs in a cell, with the places of those that are there."""
        size = self._n * _GLYPH.itemsize
        try:
            raw = np.fromfile(self._folder / _file(cell), np.uint8)
        except OSError:
            return None
        if len(raw) < size + self._n:
            return None
        flags, rows = raw[size:][indices], raw[:size].view(_GLYPH)[indices]
        places = np.flatnonzero(self._whole(cell, indices, flags, rows))
        if not len(places):
            return None
        rows = rows[places]
        shares = None
        if (flags[places] == _SHARES).all():
            shares = np.ascontiguousarray(rows["shares"].T)
        return places, Record(rows["answered"].copy(), shares, rows["ink_lost"].copy())

    def read(self, cell: Cell, start: int, stop: int) -> tuple[NDArray[np.bool_], Record] | None:
        """The answers to a run of glyphs in a cell; None unless all of them are there.

        Returns
        -------
        (inked, record)
            Which of the glyphs have ink and were asked, ndarray of shape
            (stop - start,), bool, and the answers to those.
        """
        count = stop - start
        try:
            with (self._folder / _file(cell)).open("rb") as file:
                file.seek(self._n * _GLYPH.itemsize + start)
                flags = np.frombuffer(file.read(count), np.uint8)
                if len(flags) != count or not flags.all():
                    return None
                file.seek(start * _GLYPH.itemsize)
                raw = file.read(count * _GLYPH.itemsize)
        except OSError:
            return None
        rows = np.frombuffer(raw, _GLYPH)
        if not self._whole(cell, np.arange(start, stop), flags, rows).all():
            return None
        inked = flags != _BLANK
        rows = rows[inked]
        shares = None
        if (flags[inked] == _SHARES).all() and inked.any():
            shares = np.ascontiguousarray(rows["shares"].T)
        self.found += len(rows)
        return inked, Record(rows["answered"].copy(), shares, rows["ink_lost"].copy())

    def write(self, cell: Cell, start: int, inked: NDArray[np.bool_], record: Record) -> None:
        """Keep the answers to a run of glyphs in a cell.

        Parameters
        ----------
        cell
            Which.
        start
            Index of the first glyph.
        inked
            ndarray of shape (n,), bool: which of them have ink and were asked.
        record
            The answers to those.
        """
        if not self._works:
            return
        rows = np.zeros(len(inked), _GLYPH)
        flags = np.full(len(inked), _BLANK, np.uint8)
        flags[inked] = _LABELS if record.shares is None else _SHARES
        rows["answered"][inked] = record.answered
        rows["ink_lost"][inked] = record.ink_lost
        if record.shares is not None:
            rows["shares"][inked] = record.shares.T
        places = np.arange(start, start + len(inked))
        rows["check"] = _check(_file(cell), places, flags, rows)
        path = self._folder / _file(cell)
        try:
            path.touch()  # never cut to nothing: another run may be writing the same file
            with path.open("r+b") as file:
                file.truncate(self._n * (_GLYPH.itemsize + 1))
                file.seek(start * _GLYPH.itemsize)
                file.write(rows.tobytes())
                file.flush()
                file.seek(self._n * _GLYPH.itemsize + start)
                file.write(flags.tobytes())
        except OSError as error:
            self._give_up(error)

    def _whole(
        self, cell: Cell, places: Whole, flags: NDArray[np.uint8], rows: NDArray[np.void]
    ) -> NDArray[np.bool_]:
        """Which glyphs have an answer, and just the one that was written."""
        there = flags != 0
        right = np.asarray(rows["check"] == _check(_file(cell), places, flags, rows))
        self._damaged |= bool((there & ~right).any())
        whole: NDArray[np.bool_] = there & right
        return whole

    def _give_up(self, error: OSError) -> None:
        self._works = False
        self._told.append(f"answers can't be kept in {self._root}: {error.strerror}")


def _check(
    name: str, places: Whole, flags: NDArray[np.uint8], rows: NDArray[np.void]
) -> NDArray[np.uint32]:
    """A sum of a glyph's bytes that also hangs on which glyph it is and in what file."""
    raw = np.ascontiguousarray(rows).view(np.uint8).reshape(len(rows), _GLYPH.itemsize)
    told = np.column_stack([raw[:, :_CHECKED], flags, places]).astype(np.uint32)
    told[:, -1] += np.uint32(zlib.crc32(name.encode()))
    out: NDArray[np.uint32] = (told * _WEIGHTS).sum(axis=1, dtype=np.uint32)
    return out


def _file(cell: Cell) -> str:
    """A name that hangs on what is done in a cell, whatever the recipe calls it."""
    if isinstance(cell, BlendCell):
        parts = [
            [p.purpose, p.part.unit, p.px_per_unit, repr(p.part.drawn), p.part.step]
            for p in cell.parts
        ]
        said: object = ["blend", parts, cell.seed, cell.draw]
    else:
        steps = [[s.perturbation, s.unit, s.level, s.options] for s in cell.steps]
        said = sorted(steps, key=json.dumps)
    return hashlib.sha256(json.dumps(said).encode("utf-8")).hexdigest()[:32]


@lru_cache(maxsize=1)
def _code() -> str:
    """Digest of the code that renders: pictures of another version are other pictures."""
    house = Path(__file__).resolve().parents[1]
    told = hashlib.sha256()
    for room in ("glyphs", "perturb", "render"):
        for path in sorted((house / room).rglob("*.py")):
            told.update(path.read_bytes())
    return told.hexdigest()


def _make_room(root: Path, ours: Path) -> None:
    """Remove the folders that weren't used for longest until the rest are small enough."""
    ours_all = (f for f in root.iterdir() if _OURS.fullmatch(f.name) and f.is_dir())
    folders = sorted(ours_all, key=lambda f: f.stat().st_mtime)
    sizes = {f: sum(each.stat().st_blocks * 512 for each in f.iterdir()) for f in folders}
    total = sum(sizes.values())
    for folder in folders:
        if total <= MOST_BYTES:
            return
        if folder != ours:
            shutil.rmtree(folder, ignore_errors=True)
            total -= sizes[folder]
