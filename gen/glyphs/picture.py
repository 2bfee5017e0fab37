"""One picture file to grey, whatever Pillow finds in it."""

from __future__ import annotations

import functools
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO

import numpy as np

from gen.core.errors import GlyphError
from gen.glyphs.base import Pixels

if TYPE_CHECKING:
    from PIL import Image

MOST_PIXELS = 64_000_000
_ORIENTATION = 0x0112  # CIPA DC-008 (Exif), tag 274
_TURNED = range(2, 9)  # 1 is upright
_LOADS_BY_RUNNING_A_PROGRAM = {"EPS", "WMF"}
_SIXTEEN_BIT = {"I", "I;16", "I;16B", "I;16L", "I;16N"}


_MAGICS = {
    b"\x89PNG": "PNG",
    b"\xff\xd8\xff": "JPEG",
    b"GIF8": "GIF",
    b"BM": "BMP",
    b"II*\0": "TIFF",
    b"MM\0*": "TIFF",
}


def picture_kind(head: bytes) -> str | None:
    """Which kind of picture a file is that begins so, of the usual kinds; else None.

    Examples
    --------
    >>> picture_kind(b"GIF89a"), picture_kind(b"tags")
    ('GIF', None)
    """
    return next((kind for magic, kind in _MAGICS.items() if head.startswith(magic)), None)


@dataclass(frozen=True)
class Picture:
    """A decoded picture.

    Attributes
    ----------
    grey
        ndarray of shape (H, W), uint8, as the file shows it.
    alpha
        ndarray of shape (H, W), uint8, 0 where nothing shows; None if all opaque.
    done
        What had to be done, a short phrase each, for counting over a set.
    """

    grey: Pixels
    alpha: Pixels | None = None
    done: tuple[str, ...] = field(default=())


def read_picture(path: Path) -> Picture:
    """Read a picture as grey, upright, with its transparency kept apart.

    Grey is 0.299 R + 0.587 G + 0.114 B (ITU-R BT.601), as Pillow's "L" has it.
    The EXIF orientation is applied; of an animation the first frame is read;
    16 bits are scaled to 8 by 255 / 65535 and not clipped.

    Raises
    ------
    GlyphError
        If the file isn't a picture, is broken, or has over 64 million pixels.
    """
    where = str(path)
    if not path.is_file():
        raise GlyphError(where, "not a picture", got="neither file nor folder")
    try:
        # An open file and not its name: by name Pillow maps plain TIFF into memory,
        # and then reads rows of the wrong length where a tag turns them.
        with path.open("rb") as file:
            return _decoded(where, file)
    except (GlyphError, MemoryError):
        raise
    except PermissionError as cause:
        raise GlyphError(where, "can't be read", got=cause.strerror) from cause
    except Exception as cause:  # decoders raise anything on broken bytes
        raise GlyphError(where, "the picture is broken", got=cause) from cause


def _decoded(where: str, file: BinaryIO) -> Picture:
    from PIL import Image, ImageOps, UnidentifiedImageError

    try:
        opened = Image.open(file, formats=_formats())
    except UnidentifiedImageError as cause:
        raise GlyphError(
            where, "not a picture", hint="take it out of the folder, or save it again as PNG"
        ) from cause
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as cause:
        raise _too_large(where, f"over {Image.MAX_IMAGE_PIXELS:,} pixels") from cause
    with opened as image:
        if image.width * image.height > MOST_PIXELS:
            raise _too_large(where, f"{image.height:,} x {image.width:,} px")
        done = []
        if getattr(image, "n_frames", 1) > 1:
            done.append("animated, first frame read")
        # Looked for before decoding, which applies the tag of a TIFF and drops it.
        if image.getexif().get(_ORIENTATION) in _TURNED:
            done.append("turned as its orientation tag says")
        image.load()
        return _grey(where, ImageOps.exif_transpose(image) if done else image, done)


def _too_large(where: str, got: str) -> GlyphError:
    return GlyphError(
        where,
        "the picture is far larger than a glyph can be, so it isn't decoded",
        got=got,
        allowed=f"up to {MOST_PIXELS:,} pixels",
    )


@functools.lru_cache(maxsize=1)
def _formats() -> tuple[str, ...]:
    from PIL import Image

    Image.init()
    return tuple(name for name in Image.OPEN if name not in _LOADS_BY_RUNNING_A_PROGRAM)


def _grey(where: str, image: Image.Image, done: list[str]) -> Picture:
    mode = image.mode
    if mode == "L" and "transparency" not in image.info:
        return Picture(np.array(image), None, tuple(done))
    if mode in _SIXTEEN_BIT:
        done.append("16 bits scaled to 8")
        return Picture(_from_sixteen(where, np.array(image)), None, tuple(done))
    if mode == "F":
        raise GlyphError(
            where,
            "the picture holds floating-point numbers, whose range isn't stated",
            hint="save it with 8 or 16 bits",
        )
    if image.has_transparency_data:
        whole = image.convert("RGBA")
        alpha = np.array(whole.getchannel("A"))
        grey = np.array(whole.convert("RGB").convert("L"))
        if alpha.min() == 255:
            return Picture(grey, None, tuple(done))
        return Picture(grey, alpha, (*done, "transparency"))
    if mode not in ("L", "1"):
        done.append("colour made grey by ITU-R BT.601 weights")
    straight = image if mode in ("L", "1", "RGB") else image.convert("RGB")
    return Picture(np.array(straight.convert("L")), None, tuple(done))


def _from_sixteen(where: str, values: np.ndarray) -> Pixels:
    if values.min() < 0 or values.max() > 65535:
        raise GlyphError(
            where,
            "the picture holds values beyond 16 bits",
            got=f"{values.min()} to {values.max()}",
        )
    # 65535 = 255 * 257, so this rounds to nearest in whole numbers.
    scaled: Pixels = ((values.astype(np.int64) + 128) // 257).astype(np.uint8)
    return scaled
