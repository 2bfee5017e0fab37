"""What a font file says of itself: which characters it has, and as what.

Only the directory and three tables are read, whatever the size of the file; a table of
millions of characters isn't unrolled.

References
----------
OpenType specification 1.9 (ISO/IEC 14496-22): "OpenType font file" for the directory and
collections, "cmap" for formats 0, 4, 6 and 12, "head" and "maxp".
"""

from __future__ import annotations

import struct
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

import numpy as np
from numpy.typing import NDArray

from gen.core.errors import GlyphError
from gen.glyphs.stream import opened, read_up_to

MAGICS = (b"\x00\x01\x00\x00", b"OTTO", b"true", b"ttcf")
_PACKED = {b"wOFF": "WOFF", b"wOF2": "WOFF2"}
_MOST_CMAP_BYTES = 16 << 20
_OUTLINES = ("glyf", "CFF ", "CFF2")
# Platform and encoding of the tables of Unicode, the fuller first, as FreeType prefers them.
_UNICODE = ((3, 10), (0, 6), (0, 4), (3, 1), (0, 3), (0, 2), (0, 1), (0, 0))

Span = tuple[int, int]


@dataclass(frozen=True)
class Characters:
    """One table of characters.

    Attributes
    ----------
    form
        Its format, 0, 4, 6 or 12.
    body
        Its bytes.
    glyphs
        How many glyphs the font has; numbers beyond are none.
    """

    form: int
    body: bytes
    glyphs: int

    def glyph(self, code: int) -> int:
        """The number of the glyph of a code, 0 for none."""
        found = self._find(code)
        return found if found < self.glyphs else 0

    def _find(self, code: int) -> int:
        if self.form == 0:
            return self.body[6 + code] if code < min(256, len(self.body) - 6) else 0
        if self.form == 6:
            first, count = struct.unpack_from(">HH", self.body, 6)
            at = code - first
            values = np.frombuffer(self.body, ">u2", offset=10)
            return int(values[at]) if 0 <= at < min(count, len(values)) else 0
        return self._find_12(code) if self.form == 12 else self._find_4(code)

    def _find_12(self, code: int) -> int:
        (count,) = struct.unpack_from(">I", self.body, 12)
        room = (len(self.body) - 16) // 12
        groups = np.frombuffer(self.body, ">u4", min(count, room) * 3, 16).reshape(-1, 3)
        # Fonts keep them in order; a table that doesn't is searched all the same.
        at = np.flatnonzero((groups[:, 0] <= code) & (code <= groups[:, 1]))
        return int(groups[at[0], 2]) + code - int(groups[at[0], 0]) if len(at) else 0

    def _find_4(self, code: int) -> int:
        if code > 0xFFFF:
            return 0
        (twice,) = struct.unpack_from(">H", self.body, 6)
        count = min(twice // 2, (len(self.body) - 16) // 8)
        words: NDArray[np.uint16] = np.frombuffer(
            self.body, ">u2", (len(self.body) - 14) // 2, 14
        ).astype(np.uint16)
        ends, starts = words[:count], words[count + 1 : 2 * count + 1]
        deltas, offsets = words[2 * count + 1 : 3 * count + 1], words[3 * count + 1 :]
        at = np.flatnonzero((starts <= code) & (code <= ends))
        if not len(at):
            return 0
        segment = int(at[0])
        delta, offset = int(deltas[segment]), int(offsets[segment])
        if offset in (0, 0xFFFF):
            return (code + delta) & 0xFFFF if offset == 0 else 0
        # The offset counts from where it stands, in bytes.
        place = segment + offset // 2 + code - int(starts[segment])
        if place >= len(offsets):
            return 0
        number = int(offsets[place])
        return (number + delta) & 0xFFFF if number else 0


@dataclass(frozen=True)
class Font:
    """What was read of a font file.

    Attributes
    ----------
    where
        The path, and the number of the face if it is a collection.
    face
        Number of the face in the file.
    units_per_em
        Units of its outlines in an em.
    varies
        Whether its outlines have axes; they are taken as they are by default.
    characters
        Which glyph each character is.
    """

    where: str
    face: int
    units_per_em: int
    varies: bool
    characters: Characters

    def glyph(self, character: str) -> int:
        """The number of the glyph of a character, 0 where the font has none."""
        return self.characters.glyph(ord(character))


def looks_like_font(head: bytes) -> bool:
    """Whether a file that begins so is TrueType, OpenType or a collection of these.

    Packed fonts for the web count too, so that they are refused by name.

    Examples
    --------
    >>> looks_like_font(b"OTTO"), looks_like_font(bytes([0, 0, 8, 3]))
    (True, False)
    """
    return head[:4] in (*MAGICS, *_PACKED)


def read_font(path: Path, *, face: int = 0) -> Font:
    """Read what a font says of itself.

    Parameters
    ----------
    path
        A TrueType or OpenType file, or a collection.
    face
        Which font of a collection.

    Raises
    ------
    GlyphError
        If it is none, is cut short, or has no outlines or no table of characters.
    """
    where = str(path)
    with opened(path) as file:
        if file.gzipped:
            raise GlyphError(where, "gzip round a font isn't read", hint="gunzip it")
        return _read(where, file.stream, file.most, face)


def _read(where: str, stream: BinaryIO, size: int, face: int) -> Font:
    start = 0
    magic = _at(where, stream, size, 0, 4)
    if magic in _PACKED:
        raise GlyphError(
            where, f"{_PACKED[magic]} isn't read", hint="unpack it to TrueType or OpenType first"
        )
    if magic not in MAGICS:
        raise GlyphError(
            where,
            "not a font",
            got=f"a file that begins {magic.hex(' ')}",
            allowed="TrueType (.ttf), OpenType (.otf) or a collection of these (.ttc)",
        )
    count = 1
    if magic == b"ttcf":
        (count,) = struct.unpack(">I", _at(where, stream, size, 8, 4))
    if not 0 <= face < count:
        raise GlyphError(
            where, "there is no such face in the file", got=face, allowed=f"0 to {count - 1}"
        )
    if magic == b"ttcf":
        (start,) = struct.unpack(">I", _at(where, stream, size, 12 + 4 * face, 4))
        where = f"{where}, face {face}"
    tables = _directory(where, stream, size, start)
    if not any(tag in tables for tag in _OUTLINES):
        raise GlyphError(where, "the font has no outlines, only pictures or nothing")
    for tag in ("cmap", "head", "maxp"):
        if tag not in tables:
            raise GlyphError(where, "the font lacks a table that it must have", got=tag)
    (units,) = struct.unpack_from(">H", _at(where, stream, size, tables["head"][0], 20), 18)
    (glyphs,) = struct.unpack_from(">H", _at(where, stream, size, tables["maxp"][0], 6), 4)
    if not 16 <= units <= 16384:
        raise GlyphError(
            where, "the units of an em are out of range", got=units, allowed="16 to 16,384"
        )
    cmap = _characters(where, stream, size, tables["cmap"], glyphs)
    return Font(where, face, units, "fvar" in tables, cmap)


def _at(where: str, stream: BinaryIO, size: int, place: int, count: int) -> bytes:
    """Bytes of the file, all of them or an error."""
    body = b""
    if place + count <= size:
        stream.seek(place)
        body = bytes(read_up_to(stream, count))
    if len(body) < count:
        raise GlyphError(
            where,
            "the font ends early",
            got=f"{size:,} bytes",
            allowed=f"at least {place + count:,}, as it says itself",
            hint="copy or fetch the file again",
        )
    return body


def _directory(where: str, stream: BinaryIO, size: int, start: int) -> dict[str, Span]:
    (count,) = struct.unpack_from(">H", _at(where, stream, size, start, 12), 4)
    rows = _at(where, stream, size, start + 12, 16 * count)
    tables = {}
    for row in range(count):
        tag, _, place, length = struct.unpack_from(">4sIII", rows, 16 * row)
        tables[tag.decode("latin-1")] = (place, length)
    return tables


def _characters(where: str, stream: BinaryIO, size: int, table: Span, glyphs: int) -> Characters:
    place, length = table
    if length > _MOST_CMAP_BYTES:
        raise GlyphError(
            where,
            "the table of characters is larger than any",
            got=f"{length:,} bytes",
            allowed=f"up to {_MOST_CMAP_BYTES:,}",
        )
    body = _at(where, stream, size, place, length)
    if length < 4:
        raise GlyphError(where, "the table of characters is cut short", got=f"{length} bytes")
    (count,) = struct.unpack_from(">H", body, 2)
    count = min(count, (length - 4) // 8)
    offered = {}
    for row in range(count):
        platform, encoding, offset = struct.unpack_from(">HHI", body, 4 + 8 * row)
        offered[platform, encoding] = offset
    for which in _UNICODE:
        offset = offered.get(which, length)
        if offset + 16 > length:
            continue
        (form,) = struct.unpack_from(">H", body, offset)
        if form in (0, 4, 6, 12):
            return Characters(form, body[offset:], glyphs)
    raise GlyphError(
        where,
        "the font has no table of Unicode characters that is known",
        got=", ".join(f"platform {p}, encoding {e}" for p, e in offered) or "none",
    )
