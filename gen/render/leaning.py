"""Strokes under a shear: the ink leans with them, so a round pen becomes an elliptic one.

A pixel is taken back to the plane in which the pen is round. There it lies at the offset
v, d long, from the nearest point of the middle line of a piece of half-width r. The map
back has the gradient g = |B' v| / d across the edge (B' the transpose of its matrix), so
to first order the edge is (r - d) / g px away from the pixel in the frame, and the pixel
is covered as by a straight edge at that distance, exactly (`edge.py`), less what lies past
the far edge, 2 r / g away. Ends of strokes are as in `gen.render.coverage`. Where pieces
overlap the greatest cover counts. Under a map that keeps shapes g is the same everywhere,
and this is what that module draws.

Only + - * / sqrt and comparisons of float32 values element by element are used.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from gen.glyphs.base import Pixels, Real, Strokes
from gen.render import edge
from gen.render.coverage import BLOCK

FINE = 2
"""Pixels a side that each is drawn as and averaged over. What the first order leaves out at
round ends and joints falls with it: at 45 deg the centroid of a written mark is off by
0.02 px on average with 1, and by 0.01 px with 2."""

_ROUND = 24
"""The direction taken round an end, deg, where edges run every way: the middle one."""

_F = np.float32


def pen_reach(width_px: Real, pen: Real) -> Real:
    """How far ink reaches from the middle line, (n, S, 2) in (y, x), px.

    Parameters
    ----------
    width_px
        ndarray of shape (n, S): width of the pen where it is round.
    pen
        ndarray of shape (n, 2, 2): what that plane became.
    """
    side = np.sqrt(pen[:, :, 0] * pen[:, :, 0] + pen[:, :, 1] * pen[:, :, 1])
    return np.asarray(0.5 * width_px[..., None] * side[:, None, :], dtype=np.float64)


def draw_leaning(strokes: Strokes, pen: Real, frame: tuple[int, int]) -> Pixels:
    """Draw strokes with a pen that is the image of a round one.

    Parameters
    ----------
    strokes
        Segments of shape (n, S, 2, 2) where they lie in the frame; widths (n, S) of the
        pen where it was round, px.
    pen
        ndarray of shape (n, 2, 2): the linear map (y, x) that made the pen what it is.
    frame
        (H, W) in px.

    Returns
    -------
    ndarray of shape (n, H, W), uint8

    Examples
    --------
    A pen that is 2 px wide and became twice as tall: a line along x is 4 px thick.

    >>> line = Strokes(np.array([[[[3.0, -9.0], [3.0, 9.0]]]]), np.array([[2.0]]))
    >>> draw_leaning(line, np.array([[[2.0, 0.0], [0.0, 1.0]]]), (7, 1))[0, :, 0].tolist()
    [0, 128, 255, 255, 255, 128, 0]
    """
    count = len(strokes.segments)
    images = np.empty((count, *frame), np.uint8)
    fine = (frame[0] * FINE, frame[1] * FINE)
    for start in range(0, count, BLOCK):
        part = slice(start, start + BLOCK)
        some = Strokes(
            (strokes.segments[part] + 0.5) * FINE - 0.5, strokes.width_px[part] * float(FINE)
        )
        drawn = _draw_block(some, pen[part], fine).reshape(-1, frame[0], FINE, frame[1], FINE)
        total = np.zeros((len(some.segments), *frame), np.uint16)
        for down in range(FINE):
            for right in range(FINE):
                total += drawn[:, :, down, :, right]
        images[part] = (total + FINE * FINE // 2) // (FINE * FINE)
    return images


def _draw_block(strokes: Strokes, pen: Real, frame: tuple[int, int]) -> Pixels:
    segments, width_px = strokes.segments, strokes.width_px
    count, pieces = width_px.shape
    height, width = frame
    own, corner, tall, wide = _windows(segments, pen_reach(width_px, pen) + 1.0, frame)
    shift = (corner - own).astype(_F)

    det = pen[:, 0, 0] * pen[:, 1, 1] - pen[:, 0, 1] * pen[:, 1, 0]
    back = np.stack([pen[:, 1, 1], -pen[:, 0, 1], -pen[:, 1, 0], pen[:, 0, 0]], axis=-1)
    yy, yx, xy, xx = (back / det[:, None]).astype(_F).T[..., None, None]
    start = (segments[:, :, 0] - own).astype(_F)
    line = (segments[:, :, 1] - segments[:, :, 0]).astype(_F)
    along_y = yy[..., 0] * line[..., 0] + yx[..., 0] * line[..., 1]
    along_x = xy[..., 0] * line[..., 0] + xx[..., 0] * line[..., 1]
    length2 = along_y * along_y + along_x * along_x
    dot = length2 < _F(1e-12)
    inverse = np.where(dot, _F(0.0), _F(1.0) / np.where(dot, _F(1.0), length2))
    behind = np.where(dot, _F(-1.0), _F(0.0))  # every pixel is past the end of a dot
    # Across a piece the gradient is the same all along; a dot has none, and gets the mean.
    across = _gradient2(along_x, -along_y, (yy, yx, xy, xx), 0) * inverse
    across = np.where(dot, (_F(1.0) / np.abs(det).astype(_F))[:, None], across)
    half = (0.5 * width_px).astype(_F)

    direction = edge.direction_of(line[..., 0], line[..., 1]).astype(np.intp)

    cover = np.zeros((count, height * width), _F)
    flat = cover.reshape(-1)
    first = np.arange(count)[:, None] * (height * width) + corner[..., 0] * width + corner[..., 1]
    rows, columns = np.arange(height, dtype=_F)[None, :, None], np.arange(width, dtype=_F)
    steps = np.arange(height)[:, None] * width + np.arange(width)
    for piece in range(pieces):
        a = (slice(None), piece, None, None)
        h, w = tall[piece], wide[piece]
        dy = (rows[:, :h] + shift[..., 0][a]) - start[..., 0][a]
        dx = (columns[None, None, :w] + shift[..., 1][a]) - start[..., 1][a]
        v, u = yy * dy + yx * dx, xy * dy + xx * dx
        beside = (v * along_y[a] + u * along_x[a]) * inverse[a] + behind[a]
        share = np.clip(beside, _F(0.0), _F(1.0))
        past_end = share != beside
        v -= share * along_y[a]
        u -= share * along_x[a]
        off2 = v * v + u * u
        near = off2 < _F(1e-9)
        turned = _gradient2(v, u, (yy, yx, xy, xx), None) / np.where(near, _F(1.0), off2)
        slope2 = np.where(past_end & ~near, turned, across[a])
        off2 += past_end * (slope2 * _F(1 / 12))
        slope = np.sqrt(slope2)
        seen = (half[a] - np.sqrt(off2)) / slope
        way = np.where(past_end, _ROUND, direction[a])
        # Less what lies past the far edge of a pen so narrow that both cross a pixel.
        share = edge.edge_cover(seen, way) - edge.edge_cover(seen - 2 * half[a] / slope, way)
        place = first[a] + steps[:h, :w]
        flat[place] = np.maximum(flat[place], share)
    np.clip(cover, _F(0.0), _F(1.0), out=cover)
    cover *= _F(255.0)
    cover += _F(0.5)
    return cover.astype(np.uint8).reshape(count, height, width)


def _windows(
    segments: Real, reach: Real, frame: tuple[int, int]
) -> tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.intp], NDArray[np.intp]]:
    """Where each piece may leave ink.

    A pixel of its own and the window's first corner, (n, S, 2) each; the window's height
    and width, (S,) each.

    A window is as large as the largest piece needs and no larger than the frame. It reaches
    1 px beyond the pen: half for the ramp, half for what the first order leaves out.
    """
    low = np.floor(segments.min(axis=2) - reach)
    span = np.floor(segments.max(axis=2) + reach) - low + 1.0
    size = [np.clip(span[..., side].max(axis=0), 1, frame[side]).astype(np.intp) for side in (0, 1)]
    limit = np.stack([frame[0] - size[0], frame[1] - size[1]], axis=-1).astype(float)
    # What is measured from a pixel that the other glyphs of a block can't move is rounded
    # alike whatever they need.
    own = np.clip(low, 0.0, (frame[0] - 1.0, frame[1] - 1.0)).astype(np.intp)
    return own, np.clip(low, 0.0, limit).astype(np.intp), size[0], size[1]


def _gradient2(
    v: NDArray[np.float32],
    u: NDArray[np.float32],
    back: tuple[NDArray[np.float32], ...],
    last: int | None,
) -> NDArray[np.float32]:
    """Square of the length of (v, u) under the transpose of the map back."""
    yy, yx, xy, xx = (each if last is None else each[..., last] for each in back)
    down, right = yy * v + xy * u, yx * v + xx * u
    return np.asarray(down * down + right * right, dtype=np.float32)
