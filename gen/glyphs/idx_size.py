"""IDX files that are shorter or longer than their header states, and what that often means."""

from __future__ import annotations

import math

from gen.core.errors import GlyphError
from gen.glyphs.idx_header import Header
from gen.glyphs.stream import Opened


def wrong_size(where: str, file: Opened, header: Header, held: int, last: bytes) -> GlyphError:
    """How many bytes off the file is, and what that often means."""
    need = header.need
    off = held - need if file.gzipped else file.most - header.length - need
    size = f"{abs(off):,} byte{'s' if abs(off) != 1 else ''}"
    if off < 0:
        fact = f"the file ends early: {size} short of what its header states"
    elif file.gzipped:
        fact = "the file goes on after the end that its header states"
    else:
        fact = f"the file goes on for {size} after the end that its header states"
    got = f"{need + off:,} bytes after the header" if off < 0 or not file.gzipped else None
    return GlyphError(
        where,
        fact,
        got=got,
        allowed=f"{header.said} = {need:,} bytes",
        hint=_size_hint(off, header, last, gzipped=file.gzipped),
    )


def _size_hint(off: int, header: Header, last: bytes, *, gzipped: bool) -> str:
    shape, one = header.shape, math.prod(header.shape[1:]) * header.dtype.itemsize
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
