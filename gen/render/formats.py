"""The three ways in which a stress set is written, each a cell at a time.

All are read by ordinary code: `numpy.load`, any reader of the IDX format, any
program that opens PNG files. Pictures are streamed, a block at a time.
"""

from __future__ import annotations

import struct
import zipfile
from abc import ABC, abstractmethod
from contextlib import suppress
from pathlib import Path
from typing import IO

import numpy as np

from gen.core.npz import npz_member, write_npz_array
from gen.glyphs.base import Glyphs, Pixels

FORMATS = ("npz", "idx", "png")


class CellWriter(ABC):
    """Takes the pictures of one cell, a block at a time, in the order of the glyphs.

    Parameters
    ----------
    folder
        Where the cells go.
    name
        Of the cell.
    glyphs
        The glyphs that are rendered.
    """

    def __init__(self, folder: Path, name: str, glyphs: Glyphs) -> None:
        self.folder = folder
        self.name = name
        self.glyphs = glyphs
        self.done = 0

    @abstractmethod
    def write(self, images: Pixels) -> None:
        """Take the next pictures, (n, H, W), uint8."""

    @abstractmethod
    def close(self) -> tuple[Path, ...]:
        """Finish, and say which files are compared by digest."""

    @abstractmethod
    def abandon(self) -> None:
        """Let go of what is open after a failure; whatever was written is thrown away."""


class NpzWriter(CellWriter):
    """One uncompressed npz: `images` (N, H, W) uint8, `labels` (N,) int64, `classes`."""

    def __init__(self, folder: Path, name: str, glyphs: Glyphs) -> None:
        super().__init__(folder, name, glyphs)
        self.path = folder / f"{name}.npz"
        self._zip = zipfile.ZipFile(self.path, "w", zipfile.ZIP_STORED, allowZip64=True)
        self._images: IO[bytes] | None = None
        try:
            write_npz_array(self._zip, "labels", glyphs.labels.astype("<i8"))
            write_npz_array(self._zip, "classes", np.array(glyphs.classes, dtype=str))
            self._images = self._zip.open(npz_member("images"), "w", force_zip64=True)
            _npy_header(self._images, np.dtype(np.uint8), (len(glyphs), *glyphs.frame))
        except BaseException:
            self.abandon()
            raise

    def write(self, images: Pixels) -> None:
        """Append to `images`."""
        assert self._images is not None
        self._images.write(np.ascontiguousarray(images).data)
        self.done += len(images)

    def close(self) -> tuple[Path, ...]:
        """Close the archive."""
        assert self._images is not None
        self._images.close()
        self._zip.close()
        return (self.path,)

    def abandon(self) -> None:
        """Close the archive as it is; on a full disk that fails too, which is no news."""
        for open_still in (self._images, self._zip):
            if open_still is not None:
                with suppress(OSError, ValueError):
                    open_still.close()


def _npy_header(stream: IO[bytes], dtype: np.dtype[np.uint8], shape: tuple[int, ...]) -> None:
    np.lib.format.write_array_header_1_0(
        stream,
        {
            "descr": np.lib.format.dtype_to_descr(dtype),
            "fortran_order": False,
            "shape": shape,
        },
    )


class IdxWriter(CellWriter):
    """Two files in the IDX format of the MNIST page: images (type 08, 3 sizes) and labels."""

    def __init__(self, folder: Path, name: str, glyphs: Glyphs) -> None:
        super().__init__(folder, name, glyphs)
        self.images = folder / f"{name}-images-idx3-ubyte"
        self.labels = folder / f"{name}-labels-idx1-ubyte"
        self.labels.write_bytes(
            struct.pack(">4BI", 0, 0, 8, 1, len(glyphs)) + glyphs.labels.astype(np.uint8).tobytes()
        )
        self._stream = self.images.open("wb")
        self._stream.write(struct.pack(">4B3I", 0, 0, 8, 3, len(glyphs), *glyphs.frame))

    def write(self, images: Pixels) -> None:
        """Append to the images."""
        self._stream.write(np.ascontiguousarray(images).data)
        self.done += len(images)

    def close(self) -> tuple[Path, ...]:
        """Close both."""
        self._stream.close()
        return (self.images, self.labels)

    def abandon(self) -> None:
        """Close the images."""
        with suppress(OSError):
            self._stream.close()


class PngWriter(CellWriter):
    """A folder a cell, in it a folder a class, in it one grey PNG a glyph, bright ink."""

    def __init__(self, folder: Path, name: str, glyphs: Glyphs) -> None:
        super().__init__(folder, name, glyphs)
        self.folders = [folder / name / safe for safe in safe_names(glyphs.classes)]
        for label in np.unique(glyphs.labels):
            self.folders[label].mkdir(parents=True, exist_ok=True)

    def write(self, images: Pixels) -> None:
        """One file a picture, named by its place among the glyphs."""
        from PIL import Image

        for image in images:
            label = int(self.glyphs.labels[self.done])
            Image.fromarray(image).save(self.folders[label] / f"{self.done:06d}.png")
            self.done += 1

    def close(self) -> tuple[Path, ...]:
        """Nothing to close; PNG files differ with the version of zlib, their pixels do not."""
        return ()

    def abandon(self) -> None:
        """Nothing is open between pictures."""


def safe_names(classes: tuple[str, ...]) -> list[str]:
    """A folder name for each class: the class itself where every file system takes it."""
    plain = [c if c and all(x.isalnum() or x in "-_" for x in c) else "" for c in classes]
    folded = [name.casefold() for name in plain]
    return [
        name if name and folded.count(name.casefold()) == 1 else f"class-{place}"
        for place, name in enumerate(plain)
    ]


def cell_paths(kind: str, name: str) -> tuple[str, ...]:
    """Names of the files of a cell that are compared by digest; none for pictures."""
    if kind == "idx":
        return (f"{name}-images-idx3-ubyte", f"{name}-labels-idx1-ubyte")
    return (f"{name}.npz",) if kind == "npz" else ()


def cell_writer(kind: str, folder: Path, name: str, glyphs: Glyphs) -> CellWriter:
    """The writer of a format, one of `FORMATS`."""
    writers: dict[str, type[CellWriter]] = {"npz": NpzWriter, "idx": IdxWriter, "png": PngWriter}
    return writers[kind](folder, name, glyphs)
