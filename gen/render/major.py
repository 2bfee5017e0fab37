"""Pictures glyph after glyph, and pixel after pixel: the layout that operators want."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from gen.glyphs.base import Pixels

_IN_CACHE = 1 << 19
"""Pixels worked on at a time: as float32 they stay in a cache of 2 MB."""


@dataclass(frozen=True)
class PixelMajor:
    """A few glyphs, laid out pixel after pixel.

    Attributes
    ----------
    pixels
        ndarray of shape (H*W, m), float32.
    inked
        ndarray of shape (H*W,), bool: whether any of these glyphs has ink there.
    """

    pixels: NDArray[np.float32]
    inked: NDArray[np.bool_]


def pixel_major(images: Pixels) -> list[PixelMajor]:
    """Pictures (n, H, W), a few glyphs at a time, in order.

    Examples
    --------
    >>> [part.pixels.shape for part in pixel_major(np.zeros((100, 128, 128), np.uint8))]
    [(16384, 32), (16384, 32), (16384, 32), (16384, 4)]
    """
    import cv2

    flat = np.ascontiguousarray(images).reshape(len(images), -1)
    size = max(_IN_CACHE // flat.shape[1], 1)
    parts = [flat[start : start + size] for start in range(0, len(flat), size)]
    return [
        PixelMajor(
            np.asarray(cv2.transpose(part), dtype=np.uint8).astype(np.float32),
            part.max(axis=0) > 0,
        )
        for part in parts
    ]


def glyph_major(pixels: Pixels, frame: tuple[int, int]) -> Pixels:
    """Pixels (H*W, m) as pictures (m, H, W)."""
    import cv2

    return np.asarray(cv2.transpose(pixels), dtype=np.uint8).reshape(-1, *frame)


def joined(parts: list[NDArray[Any]]) -> NDArray[Any]:
    """Parts as one array; of one part itself, not a copy."""
    return parts[0] if len(parts) == 1 else np.concatenate(parts)
