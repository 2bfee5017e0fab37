"""Ink on plain paper, and which pieces of it may be marks; the rules are those of `loose`."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from gen.core.errors import GlyphError
from gen.glyphs.base import Pixels
from gen.glyphs.paper.light import light_without

_LEAST_INK, _INK_SHARE = 0.15, 0.4
_SPECK = 0.4
_LOOKED_AT_PX = 800


def page_ink(grey: Pixels) -> Pixels:
    """Ink as share of the paper's light, 0 to 255; the light as `paper_light` has it."""
    import cv2

    scale = max(1.0, max(grey.shape) / _LOOKED_AT_PX)
    size = (round(grey.shape[1] / scale), round(grey.shape[0] / scale))
    small = cv2.resize(grey, size, interpolation=cv2.INTER_AREA).astype(np.float32)
    reach = max(15, round(min(size) / 16)) | 1
    light = light_without(small, reach, sigma_px=reach / 4)
    full = cv2.resize(light, (grey.shape[1], grey.shape[0]), interpolation=cv2.INTER_LINEAR)
    share = grey.astype(np.float32) / full
    bare = share[::5, ::5][share[::5, ::5] > 0.85]
    if len(bare):
        share /= np.float32(np.median(bare))
    ink: Pixels = np.clip(np.round(255 * (1 - share)), 0, 255).astype(np.uint8)
    # What is fainter than four sigma of the noise of the paper is paper, as in boxes.
    noise = 1.4826 * np.median(np.abs(bare - np.median(bare))) if len(bare) else 0.0
    ink[ink < np.clip(np.ceil(4 * 255 * noise), 3, 60)] = 0
    return ink


def ink_threshold(where: str, ink: Pixels) -> float:
    """Ink from which a pixel is of a piece.

    Raises
    ------
    GlyphError
        If there is nothing so dark that it could be a mark.
    """
    least = _LEAST_INK * 255
    written = ink[ink >= 2 * least]
    if len(written) == 0:
        raise GlyphError(
            where,
            "there is no ink on this page",
            got=f"nothing darker than {2 * _LEAST_INK:.0%} under the paper",
            hint="dark ink on plain, light paper",
        )
    return max(least, _INK_SHARE * float(np.percentile(written, 75)))


def stroke_px(dark: NDArray[np.bool_]) -> float:
    """Width of a stroke: from the median distance of its pixels from the paper, a quarter of it."""
    import cv2

    inside = cv2.distanceTransform(dark.astype(np.uint8), cv2.DIST_L2, 5)
    depth = inside[dark]
    return max(1.0, 4 * float(np.median(depth)) - 1.0)


def possible_marks(
    boxes: NDArray[np.int64], stroke: float, shape: tuple[int, ...]
) -> tuple[NDArray[np.bool_], tuple[int, int, int]]:
    """Which pieces may be marks, and how many are specks, too large, or at the edge."""
    left, top, wide, high, area = boxes.T
    speck = area < _SPECK * stroke**2
    large = ~speck & (np.maximum(wide, high) > min(shape) / 2)
    edge = (left <= 0) | (top <= 0) | (left + wide >= shape[1]) | (top + high >= shape[0])
    edge &= ~speck & ~large
    return ~speck & ~large & ~edge, (int(speck.sum()), int(large.sum()), int(edge.sum()))
