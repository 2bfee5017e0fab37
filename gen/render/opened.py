"""Reading a stress set back: arrays by cell, read when they are looked at."""

from __future__ import annotations

import json
import os
import zipfile
from collections.abc import Iterator, Mapping
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np

from gen.core.errors import GlyphError
from gen.core.files import file_digest
from gen.glyphs.base import Glyphs, Pixels, Whole
from gen.render.cell_files import (
    labels_idx,
    mapped_idx,
    mapped_npz,
    pixels_sha256,
    read_pictures,
    short,
    unreadable,
)
from gen.render.formats import FORMATS, cell_paths, safe_names
from gen.render.manifest import NAME


class StressCell:
    """The pictures of one cell.

    Parameters
    ----------
    folder
        Of the stress set.
    kind
        Its format.
    entry
        What the manifest says about the cell.
    frame, classes
        (H, W) in px, and the class names.

    Attributes
    ----------
    name, entry, classes
        As given.
    """

    def __init__(
        self,
        folder: Path,
        kind: str,
        entry: dict[str, Any],
        *,
        frame: tuple[int, int],
        classes: tuple[str, ...],
    ) -> None:
        self.name = str(entry["name"])
        self.entry = entry
        self.classes = classes
        self._count = int(entry["count"])
        self._frame = frame
        self._kind = kind
        self._cells = folder / "cells"

    def __repr__(self) -> str:
        return f"StressCell({self.name!r}, {self._count:,} pictures)"

    def __len__(self) -> int:
        return self._count

    @property
    def steps(self) -> list[dict[str, Any]]:
        """What was done: perturbation, unit, level and options of each step.

        None in a draw of a blend, whose steps hang on the glyph.
        """
        return list(self.entry.get("steps", ()))

    @cached_property
    def images(self) -> Pixels:
        """ndarray of shape (N, H, W), uint8, ink bright; mapped, not read, from npz and IDX."""
        shape = (self._count, *self._frame)
        if self._kind == "png":
            return read_pictures(self._pictures, shape)
        path = self._cells / cell_paths(self._kind, self.name)[0]
        try:
            if self._kind == "idx":
                return mapped_idx(path, shape)
            return mapped_npz(path, shape)
        except (OSError, ValueError, zipfile.BadZipFile, KeyError) as error:
            raise unreadable(path, error) from error

    @cached_property
    def labels(self) -> Whole:
        """ndarray of shape (N,), intp: index into `classes`."""
        if self._kind == "png":
            return np.array([label for label, _ in self._pictures], dtype=np.intp)
        path = self._cells / cell_paths(self._kind, self.name)[-1]
        try:
            if self._kind == "idx":
                return labels_idx(path).astype(np.intp)
            with np.load(path, allow_pickle=False) as held:
                return np.asarray(held["labels"], dtype=np.intp)
        except (OSError, ValueError, zipfile.BadZipFile, KeyError) as error:
            raise unreadable(path, error) from error

    @property
    def picture_paths(self) -> list[Path]:
        """The path of each picture, in the order of the glyphs; none but in PNG sets."""
        return [path for _, path in self._pictures] if self._kind == "png" else []

    @cached_property
    def _pictures(self) -> list[tuple[int, Path]]:
        """Label and path of each picture, in the order of the glyphs."""
        found: dict[int, tuple[int, Path]] = {}
        for label, name in enumerate(safe_names(self.classes)):
            within = self._cells / self.name / name
            for path in within.glob("*.png") if within.is_dir() else ():
                if path.stem.isascii() and path.stem.isdigit():
                    found[int(path.stem)] = (label, path)
        if sorted(found) != list(range(self._count)):
            raise GlyphError(
                str(self._cells / self.name),
                "pictures are missing, or there are too many",
                got=f"{len(found):,} pictures",
                allowed=f"{self._count:,}, numbered from 0",
            )
        return [found[number] for number in range(self._count)]


class StressSet(Mapping[str, StressCell]):
    """A stress set on disk, as a mapping from the name of a cell to its pictures.

    Attributes
    ----------
    path
        The folder.
    manifest
        What its manifest says.
    """

    def __init__(self, path: Path, manifest: dict[str, Any]) -> None:
        self.path = path
        self.manifest = manifest
        said = manifest["glyphs"]
        self._cells = {
            str(entry["name"]): StressCell(
                path,
                manifest["format"],
                entry,
                frame=(int(said["frame"][0]), int(said["frame"][1])),
                classes=self.classes,
            )
            for entry in manifest["cells"]
        }

    def __repr__(self) -> str:
        return f"StressSet({str(self.path)!r}, {len(self)} cells)"

    def __getitem__(self, name: str) -> StressCell:
        return self._cells[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self._cells)

    def __len__(self) -> int:
        return len(self._cells)

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the cells, nominal first."""
        return tuple(self._cells)

    @property
    def classes(self) -> tuple[str, ...]:
        """The class names."""
        return tuple(str(name) for name in self.manifest["glyphs"]["classes"])

    @property
    def labels(self) -> Whole:
        """ndarray of shape (N,), intp: the label of each glyph, the same in every cell."""
        return next(iter(self._cells.values())).labels


def open_stress_set(path: str | os.PathLike[str]) -> StressSet:
    """Open a stress set; nothing but its manifest is read until it is looked at.

    Parameters
    ----------
    path
        The folder that `write_stress_set` wrote, in any of its formats.

    Returns
    -------
    StressSet
        A mapping from the names of cells; each has `images`, `labels`, `classes` and
        `steps`.

    Raises
    ------
    GlyphError
        If there is no stress set, or it can't be read.

    Examples
    --------
    >>> import tempfile
    >>> from gen import read_recipe, write_stress_set, write_strokes
    >>> folder = Path(tempfile.mkdtemp()) / "stress"
    >>> _ = write_stress_set(
    ...     read_recipe("first-look"), write_strokes(count=20), folder, only=["blur"])
    >>> stress = open_stress_set(folder)
    >>> stress.names[:2]
    ('nominal', '07-blur+0.5px')
    >>> stress["07-blur+0.5px"].images.shape, stress.labels[:3].tolist()
    ((20, 28, 28), [0, 1, 2])
    """
    folder = Path(path)
    where = str(folder)
    try:
        text = (folder / NAME).read_text("utf-8")
    except FileNotFoundError as error:
        raise GlyphError(
            where, f"there is no stress set here: no {NAME}", hint="gen render writes one"
        ) from error
    except (OSError, ValueError) as error:
        raise GlyphError(str(folder / NAME), "can't be read", got=error) from error
    try:
        manifest = json.loads(text)
        kind = manifest["format"]
        if kind not in FORMATS:
            raise ValueError(f"format {kind!r}")
        if not isinstance(manifest["cells"], list) or not manifest["cells"]:
            raise ValueError("it lists no cells")
        for entry in manifest["cells"]:
            _check_name(entry["name"])
        return StressSet(folder, manifest)
    except (ValueError, KeyError, TypeError, IndexError, RecursionError) as error:
        raise GlyphError(
            str(folder / NAME), "isn't the manifest of a stress set", got=short(error)
        ) from error


def _check_name(name: object) -> None:
    """A cell's name leads nowhere else; the manifest may be anybody's."""
    if not isinstance(name, str) or not name or name != Path(name).name or "\\" in name:
        raise ValueError(f"a cell named {name!r}")


def cell_is_whole(folder: Path, entry: dict[str, Any], glyphs: Glyphs, kind: str) -> bool:
    """Whether the files of a cell are what they were when its entry was made."""
    try:
        for file in entry["files"]:
            path = folder / file["path"]
            if path.stat().st_size != file["bytes"] or file_digest(path) != file["sha256"]:
                return False
        if kind == "png":
            cell = StressCell(folder, kind, entry, frame=glyphs.frame, classes=glyphs.classes)
            return pixels_sha256(cell.images) == str(entry["pixels_sha256"])
    except (OSError, KeyError, TypeError, GlyphError):
        return False
    return True
