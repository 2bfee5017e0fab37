"""Pictures that stay on disk: a million of them need no more memory than a few."""

from __future__ import annotations

import math
import mmap
import tempfile
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import DTypeLike, NDArray

from gen.glyphs.base import Pixels

LARGE = 64 << 20
"""Bytes from which pictures are mapped and not held: 64 MiB."""
PIECE = 8 << 20
"""Bytes looked at together, so that a large set is never in memory as a whole."""


def mapped_file(
    path: Path, offset: int, shape: tuple[int, ...], dtype: DTypeLike = np.uint8
) -> NDArray[Any]:
    """What is in a file as an array that is read when it is looked at."""
    return np.memmap(path, dtype=dtype, mode="r", offset=offset, shape=shape)


def spooled(
    pieces: Iterable[bytes | bytearray | Pixels],
    shape: tuple[int, ...],
    dtype: DTypeLike = np.uint8,
) -> NDArray[Any]:
    """Pieces of pictures written one after another to a file without a name, and mapped.

    The file goes when the array does.
    """
    with tempfile.TemporaryFile(prefix="inkdrift-") as stream:
        for piece in pieces:
            stream.write(
                np.ascontiguousarray(piece).data if isinstance(piece, np.ndarray) else piece
            )
        stream.flush()
        return np.memmap(stream, dtype=dtype, mode="r", shape=shape)


def taken(images: Pixels, indices: NDArray[np.intp]) -> Pixels:
    """The pictures at some indices; of mapped ones many stay on disk.

    To touch one page of a map may bring in a great many, so far-flung pictures are
    fetched a few at a time.
    """
    if mapping_of(images) is None or len(indices) == 0:
        return np.asarray(images[indices])
    one = math.prod(images.shape[1:])
    shape = (len(indices), *images.shape[1:])
    if len(indices) * one >= LARGE:
        return spooled(_each(images, indices, max(1, PIECE // one)), shape)
    if int(indices.max()) - int(indices.min()) < 2 * len(indices):
        return np.array(images[indices])
    return np.concatenate(list(_each(images, indices, _FEW)))


_FEW = 16


def _each(images: Pixels, indices: NDArray[np.intp], step: int) -> Iterator[Pixels]:
    for start in range(0, len(indices), step):
        yield np.array(images[indices[start : start + step]])
        let_go(images)


def mapping_of(images: NDArray[Any]) -> np.memmap[Any, Any] | None:
    """The map that an array is a view of, if it is one."""
    found: np.memmap[Any, Any] | None = None
    base: Any = images
    while isinstance(base, np.ndarray):
        if isinstance(base, np.memmap):
            found = base
        base = base.base
    return found


def let_go(images: NDArray[Any]) -> None:
    """Give back the memory of what was read of a map; it is read again when it is wanted."""
    whole = mapping_of(images)
    region = getattr(whole, "_mmap", None)
    if isinstance(region, mmap.mmap) and hasattr(mmap, "MADV_DONTNEED"):
        region.madvise(mmap.MADV_DONTNEED)


def pieces_of(images: NDArray[Any]) -> Iterator[slice]:
    """Slices over the first axis that are looked at one by one, let go of after each."""
    one = max(1, math.prod(images.shape[1:]) * images.itemsize)
    step = max(1, PIECE // one)
    for start in range(0, len(images), step):
        yield slice(start, min(start + step, len(images)))
        let_go(images)
