"""Reading a stress set back: arrays by cell, read when they are looked at."""

from __future__ import annotations

import hashlib
import json
import os
import struct
import zipfile
from collections.abc import Iterator, Mapping
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np

from gen.core.errors import GlyphError
from gen.core.files import file_digest
from gen.glyphs.base import Glyphs, Pixels, Whole
from gen.glyphs.mapped import let_go, mapped_file, pieces_of
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
            return _read_pictures(self._pictures, shape)
        path = self._cells / cell_paths(self._kind, self.name)[0]
        try:
            if self._kind == "idx":
                return _mapped_idx(path, shape)
            return _mapped_npz(path, shape)
        except (OSError, ValueError, zipfile.BadZipFile, KeyError) as error:
            raise _unreadable(path, error) from error

    @cached_property
    def labels(self) -> Whole:
        """ndarray of shape (N,), intp: index into `classes`."""
        if self._kind == "png":
            return np.array([label for label, _ in self._pictures], dtype=np.intp)
        path = self._cells / cell_paths(self._kind, self.name)[-1]
        try:
            if self._kind == "idx":
                return _labels_idx(path).astype(np.intp)
            with np.load(path, allow_pickle=False) as held:
                return np.asarray(held["labels"], dtype=np.intp)
        except (OSError, ValueError, zipfile.BadZipFile, KeyError) as error:
            raise _unreadable(path, error) from error

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
            str(folder / NAME), "isn't the manifest of a stress set", got=_short(error)
        ) from error


def _check_name(name: object) -> None:
    """A cell's name leads nowhere else; the manifest may be anybody's."""
    if not isinstance(name, str) or not name or name != Path(name).name or "\\" in name:
        raise ValueError(f"a cell named {name!r}")


def _short(error: Exception) -> str:
    kind = "no key " if isinstance(error, KeyError) else ""
    return f"{kind}{error}"[:200]


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


def pixels_sha256(images: Pixels) -> str:
    """SHA-256 of pixels, glyph after glyph."""
    told = hashlib.sha256()
    for part in pieces_of(images):
        told.update(np.ascontiguousarray(images[part]).data)
    let_go(images)
    return told.hexdigest()


def _mapped_npz(path: Path, shape: tuple[int, ...]) -> Pixels:
    """`images` of an uncompressed npz where it lies in the file."""
    with zipfile.ZipFile(path) as held, path.open("rb") as stream:
        member = held.getinfo("images.npy")
        if member.compress_type != zipfile.ZIP_STORED:
            raise ValueError("images are compressed")
        stream.seek(member.header_offset)
        # Local file header, APPNOTE.TXT 4.3.7: 30 bytes, then name and extra of stated lengths.
        fixed = stream.read(30)
        name_length, extra_length = struct.unpack("<HH", fixed[26:30])
        stream.seek(name_length + extra_length, os.SEEK_CUR)
        np.lib.format.read_magic(stream)
        found, fortran, dtype = np.lib.format.read_array_header_1_0(stream)
        if found != shape or fortran or dtype != np.uint8:
            raise ValueError(f"images are {dtype} {found}, where {shape} is stated")
        return mapped_file(path, stream.tell(), shape)


def _mapped_idx(path: Path, shape: tuple[int, ...]) -> Pixels:
    with path.open("rb") as stream:
        head = stream.read(16)
    if head != struct.pack(">4B3I", 0, 0, 8, 3, *shape):
        raise ValueError(f"the header isn't that of {shape} pictures")
    return mapped_file(path, 16, shape)


def _labels_idx(path: Path) -> Pixels:
    raw = path.read_bytes()
    if raw[:4] != b"\0\0\x08\x01" or raw[4:8] != struct.pack(">I", len(raw) - 8):
        raise ValueError("the header isn't that of labels")
    return np.frombuffer(raw, np.uint8, offset=8)


def _read_pictures(paths: list[tuple[int, Path]], shape: tuple[int, ...]) -> Pixels:
    images = np.empty(shape, np.uint8)
    for number, (_, path) in enumerate(paths):
        pixels = read_picture(path)
        if pixels.shape != shape[1:]:
            raise _unreadable(path, ValueError(f"it is {pixels.shape[0]} x {pixels.shape[1]} px"))
        images[number] = pixels
    return images


def read_picture(path: Path) -> Pixels:
    """A grey picture, ndarray of shape (H, W), uint8.

    Raises
    ------
    GlyphError
        If it can't be read, or isn't grey.
    """
    from PIL import Image

    try:
        with Image.open(path) as picture:
            if picture.mode != "L":
                raise ValueError(f"its mode is {picture.mode}, not L")
            return np.array(picture, dtype=np.uint8)
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError) as error:
        raise _unreadable(path, error) from error


def _unreadable(path: Path, error: Exception) -> GlyphError:
    return GlyphError(str(path), "can't be read", got=_short(error))
