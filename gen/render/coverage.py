"""Strokes to pixels: how much of each pixel the ink covers, computed once.

A piece of a stroke with a round pen is a capsule. A pixel whose centre lies a
distance d from the middle line of a piece of half-width r is covered by
clip(1/2 + r - d, 0, 1): exact for a straight edge along the grid, and right on
average over a straight edge at any angle, because the ramp is as wide on one
side of the edge as on the other. A pen narrower than a pixel covers no more than its
width of it. Where pieces overlap the greatest cover counts.

Only + - * / sqrt and comparisons of float32 values element by element are used,
so the bytes are the same on every machine.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from gen.glyphs.base import Pixels, Strokes

BLOCK = 256
"""Glyphs drawn together; their windows stay in cache."""

_F = np.float32


def draw(strokes: Strokes, frame: tuple[int, int]) -> Pixels:
    """Draw strokes into a frame.

    Parameters
    ----------
    strokes
        Segments of shape (n, S, 2, 2), (y, x) in px, and pen widths (n, S) in px.
    frame
        (H, W) in px.

    Returns
    -------
    ndarray of shape (n, H, W), uint8
        255 where ink covers the pixel. What is outside the frame is not drawn.

    Examples
    --------
    A stroke 2 px wide along row 2: full cover in it, half a pixel on each side.

    >>> line = Strokes(np.array([[[[2.0, -9.0], [2.0, 9.0]]]]), np.array([[2.0]]))
    >>> draw(line, (5, 1))[0, :, 0].tolist()
    [0, 128, 255, 128, 0]
    """
    count = len(strokes.segments)
    images = np.empty((count, *frame), np.uint8)
    for start in range(0, count, BLOCK):
        part = slice(start, start + BLOCK)
        images[part] = _draw_block(strokes.segments[part], strokes.width_px[part], frame)
    return images


def _draw_block(
    segments: NDArray[np.float64], width_px: NDArray[np.float64], frame: tuple[int, int]
) -> Pixels:
    count, pieces = width_px.shape
    height, width = frame
    reach = 0.5 * width_px + 0.5
    low = np.floor(segments.min(axis=2) - reach[..., None] + 1.0)
    high = np.floor(segments.max(axis=2) + reach[..., None])
    # A window is as large as the largest piece needs, and no larger than the frame; every
    # glyph's window then has that size, so that one array operation serves the block.
    span = np.maximum(high - low + 1.0, 1.0)
    tall = np.minimum(span[..., 0].max(axis=0), height).astype(int)
    wide = np.minimum(span[..., 1].max(axis=0), width).astype(int)
    limit = np.stack([height - tall, width - wide], axis=-1).astype(float)
    corner = np.clip(low, 0.0, limit).astype(np.int32)

    half = (0.5 * width_px).astype(_F)
    most = np.minimum(width_px, 1.0).astype(_F) - _F(0.5)
    any_thin = bool((width_px < 1.0).any())
    local = (segments - corner[:, :, None, :]).astype(_F)
    start = local[:, :, 0]
    along = local[:, :, 1] - start
    length2 = along[..., 0] * along[..., 0] + along[..., 1] * along[..., 1]
    inverse = _F(1.0) / np.maximum(length2, _F(1e-12))

    cover = np.full((count, height * width), -1.0, _F)
    flat = cover.reshape(-1)
    row0 = (np.arange(count, dtype=np.int32) * (height * width))[:, None, None]
    for piece in range(pieces):
        h, w = tall[piece], wide[piece]
        dy = np.arange(h, dtype=_F)[None, :, None] - start[:, piece, 0, None, None]
        dx = np.arange(w, dtype=_F)[None, None, :] - start[:, piece, 1, None, None]
        ay = along[:, piece, 0, None, None]
        ax = along[:, piece, 1, None, None]
        share = (dy * ay + dx * ax) * inverse[:, piece, None, None]
        np.clip(share, _F(0.0), _F(1.0), out=share)
        off_y = dy - share * ay
        off_x = dx - share * ax
        off_y *= off_y
        off_x *= off_x
        off_y += off_x
        np.sqrt(off_y, out=off_y)
        seen = np.subtract(half[:, piece, None, None], off_y, out=off_y)
        if any_thin:
            np.minimum(seen, most[:, piece, None, None], out=seen)
        place = (
            row0
            + (corner[:, piece, 0, None, None] + np.arange(h, dtype=np.int32)[None, :, None])
            * width
            + (corner[:, piece, 1, None, None] + np.arange(w, dtype=np.int32)[None, None, :])
        )
        flat[place] = np.maximum(flat[place], seen)
    cover += _F(0.5)
    np.clip(cover, _F(0.0), _F(1.0), out=cover)
    cover *= _F(255.0)
    cover += _F(0.5)
    return cover.astype(np.uint8).reshape(count, height, width)
