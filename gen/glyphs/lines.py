"""Lines of a text file, plain or gzipped, some at a time and never too long a one."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from gen.core.errors import GlyphError
from gen.glyphs.stream import opened

PIECE_BYTES = 4 << 20
"""Text that is held at a time."""
LONGEST_LINE = 64 << 20
"""Bytes that a line may have: a picture of 4,000 x 4,000 px has no more."""
_WIDE = (b"\xff\xfe", b"\xfe\xff")

Numbered = tuple[int, str]
"""The number of a line, from 1, and its text."""


def numbered_lines(path: Path) -> Iterator[list[Numbered]]:
    """The lines that say something, by the piece; blank ones are passed over.

    Raises
    ------
    GlyphError
        If the file can't be read, isn't text in UTF-8, or has a line that is too long.
    """
    where = str(path)
    with opened(path) as file:
        rest, number, first = b"", 1, True
        while True:
            piece = file.stream.read(PIECE_BYTES)
            if first:
                first = False
                if piece.startswith(_WIDE):
                    raise GlyphError(
                        where, "the text is UTF-16", hint="save it as UTF-8, or plain CSV"
                    )
                piece = piece.removeprefix(b"\xef\xbb\xbf")
            lines = (rest + piece).splitlines() if not piece else (rest + piece).split(b"\n")
            rest = lines.pop() if piece else b""
            if len(rest) > LONGEST_LINE:
                raise GlyphError(
                    f"{where}:{number + len(lines)}",
                    "the line is longer than a picture can be",
                    got=f"over {len(rest):,} bytes",
                    allowed=f"up to {LONGEST_LINE:,}",
                )
            said = [
                (number + place, _text(where, number + place, line))
                for place, line in enumerate(lines)
                if line.strip()
            ]
            number += len(lines)
            if said:
                yield said
            if not piece:
                return


def _text(where: str, number: int, line: bytes) -> str:
    if b"\0" in line:
        raise GlyphError(f"{where}:{number}", "this is no text: it holds a zero byte")
    try:
        return line.decode("utf-8").rstrip("\r")
    except UnicodeDecodeError as cause:
        raise GlyphError(f"{where}:{number}", "the text isn't UTF-8", got=cause) from cause
