"""A photograph or scan as grey, never larger than is stated, and upright."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from gen.core.errors import GlyphError
from gen.glyphs.base import Pixels
from gen.glyphs.picture import MOST_PIXELS, read_picture

MOST_SIDE_PX = 16_384
"""Longest side of a photograph. A sheet scanned at 1,200 dots an inch has 14,031."""

_OTHERS = (
    (b"%PDF", "a PDF", "save its pages as pictures (PNG or JPEG) first"),
    (b"ftyphei", "a HEIC photograph", "save or send it as JPEG"),
    (b"ftypmif1", "a HEIF photograph", "save or send it as JPEG"),
)


def read_photo(path: Path) -> Pixels:
    """Read a photograph as grey: ndarray of shape (H, W), uint8.

    Grey is 0.299 R + 0.587 G + 0.114 B (ITU-R BT.601); the orientation tag of Exif is
    applied; what is transparent is white. The file is never changed.

    Raises
    ------
    GlyphError
        If it can't be read, is no picture, is broken or cut short, or is larger than
        16,384 px a side or 64 million px, which its header tells before it is decoded.
    """
    where = str(path)
    try:
        if path.exists() and not path.is_file():  # a pipe would be waited for without end
            raise GlyphError(
                where, "this is a folder" if path.is_dir() else "not a file", allowed="a photograph"
            )
        with path.open("rb") as file:
            start = file.read(64)
    except (OSError, ValueError) as error:  # ValueError: a zero byte in the path
        why = error.strerror if isinstance(error, OSError) else error
        raise GlyphError(where, "can't be read", got=why) from error
    if not start:
        raise GlyphError(where, "the file is empty", got="0 bytes", hint="copy it again")
    for mark, kind, hint in _OTHERS:
        if start.startswith(mark) or mark in start[4:16]:
            raise GlyphError(where, f"this is {kind}, which isn't read", hint=hint)
    _check_size(path)
    try:
        picture = read_picture(path)
    except GlyphError as error:
        raise _told_of_photos(error) from error
    if picture.alpha is None:
        return picture.grey
    alpha = picture.alpha.astype(np.uint16)
    laid: Pixels = ((picture.grey * alpha + 255 * (255 - alpha) + 127) // 255).astype(np.uint8)
    return laid


def _check_size(path: Path) -> None:
    """Refuse what is too large by its header."""
    import warnings

    from PIL import Image

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with Image.open(path) as opened:
                wide, high = opened.size
    except Image.DecompressionBombError as error:
        raise GlyphError(
            str(path), "the picture is too large", got=error, allowed=f"up to {MOST_PIXELS:,} px"
        ) from error
    except Exception:
        return  # whatever is wrong with it is told where it is read
    if max(wide, high) > MOST_SIDE_PX or wide * high > MOST_PIXELS:
        raise GlyphError(
            str(path),
            "the picture is too large, so it isn't decoded",
            got=f"{wide:,} x {high:,} px",
            allowed=f"up to {MOST_SIDE_PX:,} px a side and {MOST_PIXELS:,} px in all",
            hint="scan at 300 to 600 dots an inch, or save the photograph at half its size",
        )


def _told_of_photos(error: GlyphError) -> GlyphError:
    """The same, with what a person with a photograph can do about it."""
    hint = error.hint
    if error.fact == "not a picture":
        hint = "photographs and scans are read as JPEG, PNG, TIFF, WebP or BMP"
    elif "broken" in error.fact:
        hint = "copy it from the phone or scanner again"
    return GlyphError(error.where, error.fact, got=error.got, allowed=error.allowed, hint=hint)
