"""Answers kept on disk, so that an interrupted run goes on and no cell is asked twice.

A folder holds what one model, as its file was, said to one set of glyphs: a file a
cell. In a file, 22 bytes a glyph are followed by a byte a glyph that says whether they
are there. That byte is written last, so that a run may end at any moment.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
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

_GLYPH = np.dtype([("answered", "<i2"), ("ink_lost", "<f8"), ("shares", "<f4", (3,))])
_LABELS, _SHARES, _BLANK = 1, 2, 3  # what is known of a glyph; 0 is nothing


def usual_folder() -> Path:
    """Where answers are kept: INKDRIFT_CACHE, or the user's cache folder."""
    if said := os.environ.get("INKDRIFT_CACHE"):
        return Path(said) / "answers"
    base = os.environ.get("XDG_CACHE_HOME") or os.environ.get("LOCALAPPDATA")
    home = Path(base) if base else Path.home() / ".cache"
    return home / "inkdrift" / "answers"


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

    @property
    def notes(self) -> tuple[str, ...]:
        """What happened, a line each."""
        if not self.found:
            return tuple(self._told)
        return (f"{self.found:,} answers of an earlier run were taken as they are", *self._told)

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
        if len(raw) != size + self._n or not (flags := raw[size:][indices]).any():
            return None
        places = np.flatnonzero(flags)
        rows = raw[:size].view(_GLYPH)[indices[places]]
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
        inked = flags != _BLANK
        rows = np.frombuffer(raw, _GLYPH)[inked]
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
        path = self._folder / _file(cell)
        try:
            with path.open("r+b" if path.exists() else "w+b") as file:
                file.truncate(self._n * (_GLYPH.itemsize + 1))
                file.seek(start * _GLYPH.itemsize)
                file.write(rows.tobytes())
                file.flush()
                file.seek(self._n * _GLYPH.itemsize + start)
                file.write(flags.tobytes())
        except OSError as error:
            self._give_up(error)

    def _give_up(self, error: OSError) -> None:
        self._works = False
        self._told.append(f"answers can't be kept in {self._root}: {error.strerror}")


def _file(cell: Cell) -> str:
    """A name that hangs on what is done in a cell, whatever the recipe calls it."""
    if isinstance(cell, BlendCell):
        parts = [
            [part.purpose, part.part.unit, repr(part.part.drawn), part.part.step]
            for part in cell.parts
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
    folders = sorted((f for f in root.iterdir() if f.is_dir()), key=lambda f: f.stat().st_mtime)
    sizes = {f: sum(each.stat().st_blocks * 512 for each in f.iterdir()) for f in folders}
    total = sum(sizes.values())
    for folder in folders:
        if total <= MOST_BYTES:
            return
        if folder != ours:
            shutil.rmtree(folder, ignore_errors=True)
            total -= sizes[folder]
