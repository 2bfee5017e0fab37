"""The header of an IDX file: what it states, in which order of bytes, and what it can't mean.

Magic is 00 00 TYPE DIMS; sizes are one big-endian uint32 a dimension; data in C
order. Source: Y. LeCun, C. Cortes, C. Burges, "The MNIST database", section
"The IDX file format".
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from gen.core.errors import GlyphError
from gen.glyphs.stream import MOST_BYTES, Opened, read_up_to

UNSIGNED_BYTE = 0x08
TYPES = {
    UNSIGNED_BYTE: "u1",
    0x09: "i1",
    0x0B: "i2",
    0x0C: "i4",
    0x0D: "f4",
    0x0E: "f8",
}
"""Type codes, and the numbers that they stand for as numpy writes them."""
_MOST_DIMS = 4


@dataclass(frozen=True)
class Header:
    """What a file states of itself.

    Attributes
    ----------
    shape
        Sizes, the first dimension first.
    dtype
        Type of the numbers, with the order of their bytes.
    swapped
        Whether the header itself was written least byte first, against the format.
    """

    shape: tuple[int, ...]
    dtype: np.dtype[Any]
    swapped: bool

    @property
    def length(self) -> int:
        """Bytes of the header."""
        return 4 + 4 * len(self.shape)

    @property
    def need(self) -> int:
        """Bytes that have to follow it."""
        return math.prod(self.shape) * self.dtype.itemsize

    @property
    def said(self) -> str:
        """The sizes in words."""
        sizes = " x ".join(f"{size:,}" for size in self.shape)
        return sizes if self.dtype.itemsize == 1 else f"{sizes} x {self.dtype.itemsize}"


def looks_like_idx(head: bytes) -> bool:
    """Whether the first four bytes are the magic number of an IDX file, either way round.

    Examples
    --------
    >>> looks_like_idx(bytes.fromhex("00000803")), looks_like_idx(bytes.fromhex("03080000"))
    (True, True)
    """
    return _is_magic(head[:4]) or _is_swapped(head[:4])


def read_header(where: str, file: Opened) -> Header:
    """The header, which is checked as far as it can be alone.

    Raises
    ------
    GlyphError
        If it is no header of IDX, a dimension is zero or there are too many, or it asks
        for more than the file can hold.
    """
    magic = bytes(read_up_to(file.stream, 4))
    if len(magic) < 4:
        raise GlyphError(where, "too short for an IDX file", got=f"{len(magic)} bytes")
    swapped = _is_swapped(magic)
    if swapped:
        magic = magic[::-1]
    if not _is_magic(magic):
        raise GlyphError(
            where,
            "not an IDX file: wrong magic number",
            got=magic.hex(" "),
            allowed="00 00 08 03 for images, 00 00 08 01 for labels",
            hint=_magic_hint(magic),
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
    order = "<" if swapped else ">"
    shape = tuple(int(size) for size in np.frombuffer(sizes, dtype=f"{order}u4"))
    if 0 in shape:
        raise GlyphError(where, "a dimension is zero, so there is nothing to read", got=shape)
    header = Header(shape, np.dtype(order + TYPES[magic[2]]), swapped)
    _refuse_absurd(where, file, header)
    return header


def _is_magic(four: bytes) -> bool:
    return len(four) == 4 and four[:2] == b"\0\0" and four[2] in TYPES and four[3] > 0


def _is_swapped(four: bytes) -> bool:
    """Whether a magic number was written as one whole number, least byte first."""
    return _is_magic(four[::-1]) and four[0] <= _MOST_DIMS


def _magic_hint(magic: bytes) -> str | None:
    if magic[0] == 0 and magic[1] in TYPES:
        return "the first byte of the file is missing: 15 bytes of header were kept of 16"
    if magic[:2] == b"\x1f\x8b":
        return "it is gzipped twice: unpack it once"
    return None


def _refuse_absurd(where: str, file: Opened, header: Header) -> None:
    # A plain file that is merely too short gets its exact shortfall further on.
    limit = MOST_BYTES
    if file.gzipped:
        limit = min(MOST_BYTES, max(file.most - header.length, 0))
    if header.need > limit:
        raise GlyphError(
            where,
            "the header asks for more than the file can hold",
            got=f"{header.said} = {header.need:,} bytes",
            allowed=f"at most {min(limit, max(file.most - header.length, 0)):,} bytes from this "
            "file",
            hint="the header is damaged, or was written with its bytes in another order",
        )
