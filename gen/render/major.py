"""Pictures glyph after glyph, and pixel after pixel: the layout that operators want."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from gen.glyphs.base import Pixels

_IN_CACHE = 1 << 19
"""Pixels worked on at a time: as float32 they stay in a cache of 2 MB."""


def pixel_major(images: Pixels) -> list[NDArray[np.float32]]:
    """Pictures (n, H, W) as arrays (H*W, m), a few glyphs each, in order.

    Examples
    --------
    >>> [part.shape for part in pixel_major(np.zeros((100, 128, 128), np.uint8))]
    [(16384, 32), (16384, 32), (16384, 32), (16384, 4)]
    """
    import cv2

    flat = np.ascontiguousarray(images).reshape(len(images), -1)
    size = max(_IN_CACHE // flat.shape[1], 1)
    return [
        np.asarray(cv2.transpose(flat[start : start + size]), dtype=np.uint8).astype(np.float32)
        for start in range(0, len(flat), size)
    ]


def glyph_major(pixels: Pixels, frame: tuple[int, int]) -> Pixels:
    """Pixels (H*W, m) as pictures (m, H, W)."""
    import cv2

    return np.asarray(cv2.transpose(pixels), dtype=np.uint8).reshape(-1, *frame)


def joined(parts: list[NDArray[Any]]) -> NDArray[Any]:
    """Parts as one array; of one part itself, not a copy."""
    return parts[0] if len(parts) == 1 else np.concatenate(parts)
