"""IDX files: a magic number, big-endian sizes, then plain bytes.

Magic is 00 00 TYPE DIMS; sizes are one big-endian uint32 a dimension; data in C
order. Source: Y. LeCun, C. Cortes, C. Burges, "The MNIST database", section
"The IDX file format".
"""

from __future__ import annotations

import math
import os
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from gen.core.errors import GlyphError
from gen.glyphs.base import Pixels
from gen.glyphs.mapped import LARGE, PIECE, mapped_file, spooled
from gen.glyphs.stream import MOST_BYTES, Opened, opened, read_up_to

UNSIGNED_BYTE = 0x08
TYPES = {
    UNSIGNED_BYTE: "unsigned byte",
    0x09: "signed byte",
    0x0B: "16-bit integer",
    0x0C: "32-bit integer",
    0x0D: "32-bit float",
    0x0E: "64-bit float",
}
_MOST_DIMS = 4


def looks_like_idx(head: bytes) -> bool:
    """Whether the first four bytes are the magic number of an IDX file.

    Examples
    --------
    >>> looks_like_idx(bytes.fromhex("00000803"))
    True
    """
    return len(head) >= 4 and head[:2] == b"\0\0" and head[2] in TYPES and head[3] > 0


def named_idx(path: Path) -> bool:
    """Whether a name promises IDX, so that a wrong magic number is worth explaining."""
    return "idx" in path.name.lower() or "ubyte" in path.name.lower()


def read_idx(path: Path) -> Pixels:
    """Read an IDX file of unsigned bytes, plain or gzipped.

    Parameters
    ----------
    path
        The file. It is told to be gzipped by its content.

    Returns
    -------
    ndarray of the shape that the header states, uint8. Many pictures are mapped and not
    read: from the file itself, which must then stay as it is, or from where it was unpacked.

    Raises
    ------
    GlyphError
        If the magic number is another, the data aren't unsigned bytes, a
        dimension is zero, or the file is shorter or longer than its header says.
    """
    where = str(path)
    with opened(path) as file:
        shape = _read_shape(where, file)
        need = math.prod(shape)
        _refuse_absurd(where, file, shape, need)
        if need >= LARGE:
            return _left_on_disk(path, file, shape, need)
        # One byte more than called for shows that something trails, and makes
        # gzip reach the end of its stream and compare the checksum.
        body = read_up_to(file.stream, need + 1)
        if len(body) != need:
            raise _wrong_size(where, file, shape, len(body), bytes(body[-1:]))
    return np.frombuffer(body, dtype=np.uint8).reshape(shape)


def _left_on_disk(path: Path, file: Opened, shape: tuple[int, ...], need: int) -> Pixels:
    """A large body as an array that is read when it is looked at."""
    where = str(path)
    if file.gzipped:
        return spooled(_unpacked(where, file, shape, need), shape)
    header = 4 + 4 * len(shape)
    if file.most - header != need:
        file.stream.seek(-1, os.SEEK_END)
        raise _wrong_size(where, file, shape, file.most - header, file.stream.read(1))
    return mapped_file(path, header, shape)


def _unpacked(where: str, file: Opened, shape: tuple[int, ...], need: int) -> Iterator[bytes]:
    """What a gzipped file holds, piece by piece, to its end, where the checksum is compared."""
    seen = 0
    while piece := file.stream.read(min(PIECE, need + 1 - seen)):
        seen += len(piece)
        yield piece
    if seen != need:
        raise _wrong_size(where, file, shape, seen, b"")


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


def _read_shape(where: str, file: Opened) -> tuple[int, ...]:
    """Sizes from the header, which is checked as far as it can be alone."""
    magic = bytes(read_up_to(file.stream, 4))
    if len(magic) < 4:
        raise GlyphError(where, "too short for an IDX file", got=f"{len(magic)} bytes")
    if not looks_like_idx(magic):
        raise GlyphError(
            where,
            "not an IDX file: wrong magic number",
            got=magic.hex(" "),
            allowed="00 00 08 03 for images, 00 00 08 01 for labels",
            hint=_magic_hint(magic),
        )
    if magic[2] != UNSIGNED_BYTE:
        raise GlyphError(
            where,
            "only IDX files of unsigned bytes can be read for now",
            got=f"type {magic[2]:02x}, {TYPES[magic[2]]}",
            allowed="type 08, unsigned byte",
            hint="store the pictures as bytes, 0 to 255",
        )
    dims = magic[3]
    if dims > _MOST_DIMS:
        raise GlyphError(
            where, "too many dimensions", got=dims, allowed="1 for labels, 3 for images"
        )
    sizes = bytes(read_up_to(file.stream, 4 * dims))
    if len(sizes) < 4 * dims:
        raise GlyphError(
            where,
            "the file ends within its header",
            got=f"{4 + len(sizes)} bytes",
            allowed=f"{4 + 4 * dims} bytes of header for {dims} dimensions",
        )
    shape = tuple(int(size) for size in np.frombuffer(sizes, dtype=">u4"))
    if 0 in shape:
        raise GlyphError(where, "a dimension is zero, so there is nothing to read", got=shape)
    return shape


def _magic_hint(magic: bytes) -> str | None:
    if magic[0] == 0 and magic[1] in TYPES:
        return "the first byte of the file is missing: 15 bytes of header were kept of 16"
    if looks_like_idx(magic[::-1]):
        return "the header was written least byte first; IDX puts the most significant byte first"
    if magic[:2] == b"\x1f\x8b":
        return "it is gzipped twice: unpack it once"
    return None


def _refuse_absurd(where: str, file: Opened, shape: tuple[int, ...], need: int) -> None:
    header = 4 + 4 * len(shape)
    sizes = " x ".join(f"{size:,}" for size in shape)
    # A plain file that is merely too short gets its exact shortfall further on.
    limit = MOST_BYTES if not file.gzipped else min(MOST_BYTES, max(file.most - header, 0))
    if need > limit:
        raise GlyphError(
            where,
            "the header asks for more than the file can hold",
            got=f"{sizes} = {need:,} bytes",
            allowed=f"at most {min(limit, max(file.most - header, 0)):,} bytes from this file",
            hint="the header is damaged, or was written with its bytes in another order",
        )


def _wrong_size(
    where: str, file: Opened, shape: tuple[int, ...], held: int, last: bytes
) -> GlyphError:
    """How many bytes off the file is, and what that often means."""
    header, need = 4 + 4 * len(shape), math.prod(shape)
    off = held - need if file.gzipped else file.most - header - need
    size = f"{abs(off):,} byte{'s' if abs(off) != 1 else ''}"
    if off < 0:
        fact = f"the file ends early: {size} short of what its header states"
    elif file.gzipped:
        fact = "the file goes on after the end that its header states"
    else:
        fact = f"the file goes on for {size} after the end that its header states"
    sizes = " x ".join(f"{one:,}" for one in shape)
    got = f"{need + off:,} bytes after the header" if off < 0 or not file.gzipped else None
    return GlyphError(
        where,
        fact,
        got=got,
        allowed=f"{sizes} = {need:,} bytes",
        hint=_size_hint(off, shape, last, gzipped=file.gzipped),
    )


def _size_hint(off: int, shape: tuple[int, ...], last: bytes, *, gzipped: bool) -> str:
    one = math.prod(shape[1:])
    pictures = abs(off) // one if len(shape) > 1 and off % one == 0 else 0
    meanings = (
        (
            off < 0 and pictures > 0,
            f"the last {pictures:,} of {shape[0]:,} pictures are missing: copy the file again",
        ),
        (
            -16 < off < 0,
            "a few bytes were lost, as when a header of 15 is written or cut for one of 16",
        ),
        (off < 0, "the file was cut short: copy or fetch it again"),
        (gzipped, "something was appended, or the count in the header is too small"),
        (
            pictures > 0,
            f"there are {pictures:,} more pictures than the header counts: mend the count",
        ),
        (off in (8, 16), f"{off} bytes are one header: perhaps a header was written twice"),
        (
            off == 1 and last == b"\n",
            "a line end was added, as text tools do: write the file as binary",
        ),
    )
    fallback = "something was appended, or the sizes in the header are wrong"
    return next((meaning for applies, meaning in meanings if applies), fallback)
