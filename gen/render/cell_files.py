"""Reading the files of one cell: mapped where they lie, or picture by picture."""

from __future__ import annotations

import hashlib
import os
import struct
import zipfile
from pathlib import Path

import numpy as np

from gen.core.errors import GlyphError
from gen.glyphs.base import Pixels
from gen.glyphs.mapped import let_go, mapped_file, pieces_of


def pixels_sha256(images: Pixels) -> str:
    """SHA-256 of pixels, glyph after glyph."""
    told = hashlib.sha256()
    for part in pieces_of(images):
        told.update(np.ascontiguousarray(images[part]).data)
    let_go(images)
    return told.hexdigest()


def short(error: Exception) -> str:
    """What went wrong, in a line that fits an error."""
    kind = "no key " if isinstance(error, KeyError) else ""
    return f"{kind}{error}"[:200]


def mapped_npz(path: Path, shape: tuple[int, ...]) -> Pixels:
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


def mapped_idx(path: Path, shape: tuple[int, ...]) -> Pixels:
    """Pictures of an IDX file where they lie in it."""
    with path.open("rb") as stream:
        head = stream.read(16)
    if head != struct.pack(">4B3I", 0, 0, 8, 3, *shape):
        raise ValueError(f"the header isn't that of {shape} pictures")
    return mapped_file(path, 16, shape)


def labels_idx(path: Path) -> Pixels:
    """Labels of an IDX file, ndarray of shape (N,), uint8."""
    raw = path.read_bytes()
    if raw[:4] != b"\0\0\x08\x01" or raw[4:8] != struct.pack(">I", len(raw) - 8):
        raise ValueError("the header isn't that of labels")
    return np.frombuffer(raw, np.uint8, offset=8)


def read_pictures(paths: list[tuple[int, Path]], shape: tuple[int, ...]) -> Pixels:
    """Pictures of one size from files of their own, ndarray of shape (N, H, W), uint8."""
    images = np.empty(shape, np.uint8)
    for number, (_, path) in enumerate(paths):
        pixels = read_picture(path)
        if pixels.shape != shape[1:]:
            raise unreadable(path, ValueError(f"it is {pixels.shape[0]} x {pixels.shape[1]} px"))
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
        raise unreadable(path, error) from error


def unreadable(path: Path, error: Exception) -> GlyphError:
    """The error of a file that can't be read."""
    return GlyphError(str(path), "can't be read", got=short(error))
