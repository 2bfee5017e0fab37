"""Reading the bytes of a file, plain or gzipped, never more than was called for."""

from __future__ import annotations

import gzip
import hashlib
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO, cast

from gen.core.errors import GlyphError
from gen.glyphs.whereabouts import whereabouts

MOST_BYTES = 8 << 30  # 8 GiB: no set of glyphs that a person meant to load is larger
_GZIP_MAGIC = b"\x1f\x8b"
_GZIP_BEST = 1032  # deflate's best: 258 bytes from 2 bits (zlib, "Technical Details")
_PIECE = 1 << 24


@dataclass(frozen=True)
class Opened:
    """An open file and how much it may hold.

    Attributes
    ----------
    stream
        Its bytes, unpacked if it was gzipped.
    gzipped
        Whether it was.
    most
        No more bytes than this can come out: the size of a plain file exactly,
        and for a gzipped one what the format can pack into its size at best.
    """

    stream: BinaryIO
    gzipped: bool
    most: int


@contextmanager
def opened(path: Path) -> Iterator[Opened]:
    """Open a file, unpacking gzip as told by its first two bytes.

    Raises
    ------
    GlyphError
        If there is no such file, it isn't a file, it can't be read, or its gzip
        stream is cut short or corrupt.
    """
    where = str(path)
    try:
        if not path.is_file():
            if path.exists():
                raise GlyphError(where, "not a file")
            raise GlyphError(where, "there is no such file", hint=whereabouts(path))
        size = path.stat().st_size
        with path.open("rb") as plain:
            gzipped = plain.read(2) == _GZIP_MAGIC
            plain.seek(0)
            if gzipped:
                with gzip.GzipFile(fileobj=plain) as unpacked:
                    yield Opened(cast(BinaryIO, unpacked), True, size * _GZIP_BEST)
            else:
                yield Opened(plain, False, size)
    except EOFError as cause:
        raise GlyphError(
            where, "the gzip stream ends early", hint="copy or fetch the file again"
        ) from cause
    except (gzip.BadGzipFile, zlib.error) as cause:
        raise GlyphError(
            where, "the gzip stream is corrupt", got=cause, hint="copy or fetch the file again"
        ) from cause
    except (OSError, ValueError) as cause:  # ValueError: a path with a zero byte in it
        raise GlyphError(where, "can't be read", got=cause) from cause


def read_up_to(stream: BinaryIO, count: int) -> bytearray:
    """Read `count` bytes, or as many as there are, without reserving room ahead.

    Examples
    --------
    >>> import io
    >>> bytes(read_up_to(io.BytesIO(b"ink"), 10))
    b'ink'
    """
    body = bytearray()
    while len(body) < count:
        piece = stream.read(min(_PIECE, count - len(body)))
        if not piece:
            break
        body += piece
    return body


def file_digest(path: Path) -> bytes:
    """SHA-256 of a file as it is, by which copies are known.

    Raises
    ------
    GlyphError
        If it can't be read.
    """
    with opened(path), path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").digest()


def first_bytes(path: Path, count: int) -> bytes:
    """The first bytes of a file, after unpacking if it is gzipped."""
    with opened(path) as file:
        return bytes(read_up_to(file.stream, count))
