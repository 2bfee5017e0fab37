"""IDX files: a magic number, big-endian sizes, then plain numbers.

Source: Y. LeCun, C. Cortes, C. Burges, "The MNIST database", section "The IDX file
format": numbers of one to eight bytes, the most significant byte first.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from gen.glyphs.idx_header import Header, looks_like_idx, read_header
from gen.glyphs.idx_size import wrong_size
from gen.glyphs.mapped import LARGE, PIECE, mapped_file, pieces_of, spooled
from gen.glyphs.stream import Opened, opened, read_up_to

__all__ = [
    "label_names",
    "labels_beside",
    "looks_like_idx",
    "named_idx",
    "read_idx",
    "read_idx_noted",
]
_PLAUSIBLE = 65535.0
_TEXTS = (".csv", ".tsv", ".txt", ".tab")  # tags_idx.csv is a table


def named_idx(path: Path) -> bool:
    """Whether a name promises IDX, so that a wrong magic number is worth explaining."""
    name = path.name.lower().removesuffix(".gz")
    return ("idx" in name or "ubyte" in name) and not name.endswith(_TEXTS)


def read_idx(path: Path) -> NDArray[Any]:
    """Read an IDX file, plain or gzipped; `read_idx_noted` without its notes."""
    return read_idx_noted(path)[0]


def read_idx_noted(path: Path) -> tuple[NDArray[Any], tuple[str, ...]]:
    """Read an IDX file of any type, plain or gzipped, and say what is odd about it.

    Parameters
    ----------
    path
        The file. It is told to be gzipped by its content.

    Returns
    -------
    tuple
        ndarray of the shape and type that the header states; and a note where bytes
        stand in the other order, which they do in files that a program wrote without a
        thought for it. Many pictures are mapped and not read: from the file itself, which
        must then stay as it is, or from where it was unpacked.

    Raises
    ------
    GlyphError
        If the magic number is another, a dimension is zero, or the file is shorter or
        longer than its header says.
    """
    where = str(path)
    with opened(path) as file:
        header = read_header(where, file)
        if header.need >= LARGE:
            values = _left_on_disk(path, file, header)
        else:
            # One byte more than called for shows that something trails, and makes
            # gzip reach the end of its stream and compare the checksum.
            body = read_up_to(file.stream, header.need + 1)
            if len(body) != header.need:
                raise wrong_size(where, file, header, len(body), bytes(body[-1:]))
            values = np.frombuffer(body, dtype=header.dtype).reshape(header.shape)
    notes = []
    if header.swapped:
        notes.append("header written least byte first, against the format, and read so")
    if header.dtype.itemsize > 1 and not _plausible(values):
        other = values.view(values.dtype.newbyteorder(">" if header.swapped else "<"))
        if _plausible(other):
            values = other
            notes.append(
                "its numbers written most byte first all the same, and read so"
                if header.swapped
                else "numbers written least byte first, against the format, and read so"
            )
    return values, tuple(notes)


def _plausible(values: NDArray[Any]) -> bool:
    """Whether numbers could be grey levels or labels: finite, 0 to 65535, none next to zero.

    Read in the wrong order, small whole numbers are in the millions, or multiples of 256;
    and fractions are tiny, enormous or not numbers.
    """
    most, floats = 0.0, values.dtype.kind == "f"
    for part in pieces_of(values):
        piece = values[part].astype(np.float64)
        if not np.isfinite(piece).all() or piece.min() < 0:
            return False
        if floats and bool(((piece > 0) & (piece < 1e-30)).any()):
            return False
        most = max(most, float(piece.max()))
    return most <= (_PLAUSIBLE if floats else 255.0)


def _left_on_disk(path: Path, file: Opened, header: Header) -> NDArray[Any]:
    """A large body as an array that is read when it is looked at."""
    where = str(path)
    if file.gzipped:
        return spooled(_unpacked(where, file, header), header.shape, header.dtype)
    held = file.most - header.length
    if held != header.need:
        file.stream.seek(-1, os.SEEK_END)
        raise wrong_size(where, file, header, held, file.stream.read(1))
    return mapped_file(path, header.length, header.shape, header.dtype)


def _unpacked(where: str, file: Opened, header: Header) -> Iterator[bytes]:
    """What a gzipped file holds, piece by piece, to its end, where the checksum is compared."""
    seen = 0
    while piece := file.stream.read(min(PIECE, header.need + 1 - seen)):
        seen += len(piece)
        yield piece
    if seen != header.need:
        raise wrong_size(where, file, header, seen, b"")


def labels_beside(path: Path) -> Path | None:
    """The labels file that usual naming puts beside an images file, if it is there.

    `images` becomes `labels` and `idx3` becomes `idx1`, with or without `.gz`;
    a name that is compressed alike comes first.
    """
    return next((one for one in label_names(path) if one.is_file()), None)


def label_names(path: Path) -> list[Path]:
    """Every name under which the labels of an images file are looked for.

    Examples
    --------
    >>> [p.name for p in label_names(Path("tags-images-idx3-ubyte.gz"))][:2]
    ['tags-labels-idx1-ubyte.gz', 'tags-labels-idx1-ubyte']
    """
    names: list[str] = []
    worded = path.name
    for images, labels in (("images", "labels"), ("Images", "Labels"), ("image", "label")):
        worded = worded.replace(images, labels)
    for name in (worded.replace("idx3", "idx1"), worded):
        bare = name.removesuffix(".gz")
        names += [name, bare if bare != name else f"{name}.gz"]
    plain = path.name.removesuffix(".gz")
    fresh = [name for name in dict.fromkeys(names) if name.removesuffix(".gz") != plain]
    return [path.with_name(name) for name in fresh]
