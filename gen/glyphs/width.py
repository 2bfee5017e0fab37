"""Wider and narrower strokes on pictures.

A picture is taken as the surface through its pixel values, linear in between.
Widening by w px moves every edge outwards by w/2: each point takes the greatest
value within w/2 of it, found over points on rings round it; narrowing takes the
least. A straight edge moves by exactly w/2 whatever its place between the
pixels, and grey levels of strokes wider than the change are kept.

Only products of 8-bit values with whole weights, sums under 2**24, greatest and
least are taken, so float32 is exact.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from gen.core.exact import cos_sin_deg
from gen.glyphs.base import Pixels, Real, Whole

_ONE = 1 << 16
STEP_PX = 1 / 16
"""Changes given as a ratio are rounded to this, so that glyphs can share the work."""
CHUNK = 256
_MOST_VALUES, _LEAST_ROWS = 1 << 24, 64
"""Values held as float32 at a time; large pictures are done in strips of rows."""
_GROWTH_PX = 1.0


@lru_cache(maxsize=256)
def ring_offsets(radius_px: float) -> tuple[tuple[float, float], ...]:
    """Points (dy, dx) that stand for the disc of this radius: rings 0.7 px apart."""
    found = [(0.0, 0.0)]
    radius = radius_px
    while radius > 0.25:
        around = 8 * max(2, int(np.ceil(radius)))
        for place in range(around):
            cosine, sine = cos_sin_deg(place * 360.0 / around)
            found.append((sine * radius, cosine * radius))
        radius -= 0.7
    if len(found) == 1:
        found += [
            (s * radius_px, c * radius_px)
            for c, s in (cos_sin_deg(place * 22.5) for place in range(16))
        ]
    return tuple(found)


def change_width(images: Pixels, added_px: float) -> Pixels:
    """Make strokes wider, or narrower when `added_px` is negative.

    Parameters
    ----------
    images
        ndarray of shape (n, H, W), uint8.
    added_px
        Change of the whole width, px; half of it on each side.

    Returns
    -------
    ndarray of shape (n, H, W), uint8

    Examples
    --------
    >>> bar = np.zeros((1, 7, 5), np.uint8)
    >>> bar[0, 2:5] = 255
    >>> change_width(bar, 1.0)[0, :, 2].tolist()
    [0, 128, 255, 255, 255, 128, 0]
    >>> change_width(bar, -1.0)[0, :, 2].tolist()
    [0, 0, 128, 255, 128, 0, 0]
    """
    out = np.empty_like(images)
    for start in range(0, len(images), CHUNK):
        part = images[start : start + CHUNK]
        rows = max(_LEAST_ROWS, _MOST_VALUES // max(1, len(part) * images.shape[2]))
        for top in range(0, images.shape[1], rows):
            strip = slice(top, min(top + rows, images.shape[1]))
            out[start : start + CHUNK, strip] = _change_rows(part, added_px, strip)
    return out


def _change_rows(images: Pixels, added_px: float, strip: slice) -> Pixels:
    """Some rows of the changed pictures, from these and those that they can see."""
    count, _, width = images.shape
    height = strip.stop - strip.start
    radius = abs(added_px) / 2
    pad = int(np.floor(radius)) + 2
    room = np.zeros((height + 2 * pad, width + 2 * pad, count), np.float32)
    seen_rows = images[:, max(strip.start - pad, 0) : strip.stop + pad]
    first = pad - min(strip.start, pad)
    room[first : first + seen_rows.shape[1], pad:-pad] = seen_rows.transpose(1, 2, 0)
    best: NDArray[np.float32] | None = None
    choose = np.maximum if added_px > 0 else np.minimum
    for dy, dx in ring_offsets(radius):
        seen = _shifted(room, dy, dx, pad, (height, width))
        best = seen if best is None else choose(best, seen, out=best)
    assert best is not None
    best *= np.float32(1 / _ONE)
    best += np.float32(0.5)
    return np.ascontiguousarray(best.astype(np.uint8).transpose(2, 0, 1))


def _shifted(
    room: NDArray[np.float32], dy: float, dx: float, pad: int, frame: tuple[int, int]
) -> NDArray[np.float32]:
    """The surface seen (dy, dx) px away from each pixel, in steps of 2**-16."""
    top, left = int(np.floor(dy)), int(np.floor(dx))
    down, right = round((dy - top) * _ONE), round((dx - left) * _ONE)
    both = max(round((dy - top) * (dx - left) * _ONE), down + right - _ONE)
    total = np.zeros((*frame, room.shape[2]), np.float32)
    for step_y, step_x, weight in (
        (0, 0, _ONE - down - right + both),
        (0, 1, right - both),
        (1, 0, down - both),
        (1, 1, both),
    ):
        if weight:
            y, x = pad + top + step_y, pad + left + step_x
            total += room[y : y + frame[0], x : x + frame[1]] * np.float32(weight)
    return total


def stroke_width_px(images: Pixels) -> Real:
    """Width of each glyph's strokes, from how its ink grows when they are widened.

    Ink is length times width, so width is ink over the growth of ink for a px of
    width; the growth is seen for the first px.

    Returns
    -------
    ndarray of shape (n,), float64, px; 0 for a glyph without ink.
    """
    wider = change_width(images, _GROWTH_PX).sum(axis=(1, 2), dtype=np.int64)
    ink = images.sum(axis=(1, 2), dtype=np.int64)
    return np.asarray(ink * _GROWTH_PX / np.maximum(wider - ink, 1), dtype=np.float64)


def scale_width(images: Pixels, ratio: float) -> Pixels:
    """Make the strokes of each glyph `ratio` times their own width."""
    added = (ratio - 1.0) * stroke_width_px(images)
    return widened(images, np.rint(added / STEP_PX).astype(int))


def widened(images: Pixels, steps: Whole) -> Pixels:
    """Make the strokes of each glyph wider by so many steps of `STEP_PX`, of shape (n,)."""
    out = images.copy()
    for step in np.unique(steps):
        if step:
            chosen = steps == step
            out[chosen] = change_width(images[chosen], step * STEP_PX)
    return out
