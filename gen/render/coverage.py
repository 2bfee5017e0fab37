"""Strokes to pixels: how much of each pixel the ink covers, computed once.

A piece of a stroke with a round pen is a capsule. For each pixel the piece whose edge
reaches farthest past its centre counts, and the pixel is covered as by a straight
edge at that distance in that piece's direction, exactly (`edge.py`). Round the end of
a stroke the outer side of an edge is longer than the inner, so the distance d from the
end is taken as sqrt(d**2 + 1/12) there: integrated over the plane, the ink of a disc is
then exactly pi r**2, and that of a capsule 2 r a + pi r**2. Of a pen so narrow that
both its edges cross a pixel, what lies past the far edge is taken off; where the pen
differs much along a glyph, such a piece covers at the most its width of a pixel instead.
Where two strokes meet inside a pixel, only the farther reaching one is seen.

Only + - * / sqrt and comparisons of float32 values element by element are used,
so the bytes are the same on every machine.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from gen.glyphs.base import Pixels, Strokes
from gen.render import edge

BLOCK = 128
"""Glyphs drawn together; their windows stay in cache."""

UNITS = 1 << 13
"""Distances are rounded to this share of a px."""
_PACK = 64
"""Room for a direction beside a distance; up to 32 px from an edge both fit float32."""
_ROUNDING = np.float32(1.5 * 2**23)
"""Whole numbers are as fine as float32 gets near this: adding it rounds."""

_WIDE = np.float32(1 << 22)
"""Farther than any edge reaches: no limit."""
_ROUND = np.float32(24.0)
"""The direction taken round an end, where edges run every way: the middle one, 24 deg."""

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
    # All glyphs of a block have windows of one size; drawn in order of what they need,
    # few have a larger one than that.
    order = np.argsort(_reach(strokes), kind="stable")
    for start in range(0, count, BLOCK):
        part = order[start : start + BLOCK]
        images[part] = _draw_block(strokes.segments[part], strokes.width_px[part], frame)
    return images


def _reach(strokes: Strokes) -> NDArray[np.float64]:
    """The longest side of the box of any piece with its pen, of each glyph."""
    piece = np.abs(strokes.segments[:, :, 1] - strokes.segments[:, :, 0])
    longest = np.maximum(piece[..., 0], piece[..., 1])
    return np.asarray((longest + strokes.width_px).max(axis=1), dtype=np.float64)


def _draw_block(  # noqa: PLR0915 -- one loop with all that stays the same in it told before
    segments: NDArray[np.float64], width_px: NDArray[np.float64], frame: tuple[int, int]
) -> Pixels:
    count, pieces = width_px.shape
    height, width = frame
    reach = 0.5 * width_px + edge.REACH_PX
    one_end, other_end = segments[:, :, 0], segments[:, :, 1]
    low = np.floor(np.minimum(one_end, other_end) - reach[..., None] + 1.0)
    high = np.floor(np.maximum(one_end, other_end) + reach[..., None])
    # A window is as large as the largest piece needs, and no larger than the frame; every
    # glyph's window then has that size, so that one array operation serves the block.
    span = np.maximum(high - low + 1.0, 1.0)
    tall = np.minimum(span[..., 0].max(axis=0), height).astype(int)
    wide = np.minimum(span[..., 1].max(axis=0), width).astype(int)
    limit = np.stack([height - tall, width - wide], axis=-1).astype(float)
    corner = np.clip(low, 0.0, limit).astype(np.int32)

    # In units of a 2**-13th of a px, so that distances become whole numbers by rounding.
    half = np.rint(0.5 * width_px * UNITS).astype(_F) + _ROUNDING
    # Measured from a pixel of the piece's own, and not from the window's corner, which may
    # be moved by what the other glyphs of the block need: or rounding would differ with it.
    own = np.clip(low, 0.0, (height - 1.0, width - 1.0))
    shift = ((corner - own) * UNITS).astype(_F)
    most = _most(width_px)
    limited = bool((most < _WIDE).any())
    local = ((segments - own[:, :, None, :]) * UNITS).astype(_F)
    start = local[:, :, 0]
    along = local[:, :, 1] - start
    direction = edge.direction_of(along[..., 0], along[..., 1])
    length2 = along[..., 0] * along[..., 0] + along[..., 1] * along[..., 1]
    first_end, last_end = (_F(UNITS * UNITS / 12) * free for free in _free_ends(segments))
    ends: NDArray[np.bool_] = np.any(first_end + last_end > 0, axis=0)
    dot = length2 < _F(1.0)
    toward = along / np.where(dot, _F(1.0), length2)[..., None]
    behind = np.where(dot, _F(-1.0), _F(0.0))  # every pixel is past the end of a dot

    # Distance and direction in one number, distance first: the greatest of two such
    # numbers is that of the farther reaching edge, and says which way it runs.
    best = np.full((count, height * width), _F(-_PACK * UNITS), _F)
    flat = best.reshape(-1)
    first = np.arange(count)[:, None] * (height * width) + corner[..., 0] * width + corner[..., 1]
    rows = (np.arange(height, dtype=_F) * _F(UNITS))[None, :, None]
    columns = (np.arange(width, dtype=_F) * _F(UNITS))[None, None, :]
    steps = np.arange(height)[:, None] * width + np.arange(width)
    for piece in range(pieces):
        h, w = tall[piece], wide[piece]
        a = (slice(None), piece, None, None)
        dy = (rows[:, :h] + shift[..., 0][a]) - start[..., 0][a]
        dx = (columns[:, :, :w] + shift[..., 1][a]) - start[..., 1][a]
        beside = (dy * toward[..., 0][a] + behind[a]) + dx * toward[..., 1][a]
        share = np.clip(beside, _F(0.0), _F(1.0))
        off = dx - share * along[..., 1][a]
        off *= off
        share *= along[..., 0][a]
        np.subtract(dy, share, out=share)
        share *= share
        off += share
        runs = direction[a]
        if ends[piece]:
            rounded = (beside < 0) * first_end[a] + (beside > 1) * last_end[a]
            off += rounded
            runs = np.where(rounded > 0, _ROUND, runs)
        np.sqrt(off, out=off)
        seen = np.subtract(half[a], off, out=off)  # a whole number over _ROUNDING
        seen -= _ROUNDING
        if limited:
            np.minimum(seen, most[a], out=seen)
        seen *= _F(_PACK)
        seen += runs
        place = first[a] + steps[:h, :w]
        flat[place] = np.maximum(flat[place], seen)
    return _covered(best, width_px).reshape(count, height, width)


def _free_ends(segments: NDArray[np.float64]) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Whether the first and the last end of each piece are ends of a stroke, (n, S) each.

    Where one piece goes on from another, the round of the pen is inside the stroke.
    """
    begins, stops = segments[:, :, 0], segments[:, :, 1]
    joined: NDArray[np.bool_] = np.all(begins[:, 1:] == stops[:, :-1], axis=2)
    first, last = np.ones(segments.shape[:2], bool), np.ones(segments.shape[:2], bool)
    first[:, 1:] &= ~joined
    last[:, :-1] &= ~joined
    # A repeated piece, which only fills up the row, is what it repeats.
    again: NDArray[np.bool_] = np.all(segments[:, 1:] == segments[:, :-1], axis=(2, 3))
    for piece in np.flatnonzero(again.any(axis=0)) + 1:
        same = again[:, piece - 1]
        first[same, piece] = first[same, piece - 1]
    return first, last


def _is_uneven(width_px: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Whether the pen of a glyph differs by more than a quarter along it, (n,)."""
    widest = width_px.max(axis=1)
    return np.asarray(widest - width_px.min(axis=1) > 0.25 * widest)


def _most(width_px: NDArray[np.float64]) -> NDArray[np.float32]:
    """How far past a pixel's centre a thin piece of an uneven pen may reach, (n, S)."""
    thin = _is_uneven(width_px)[:, None] & (width_px < 2 * edge.REACH_PX)
    reach = np.rint((np.minimum(width_px, 1.0) - 0.5) * UNITS)
    return np.where(thin, reach, float(_WIDE)).astype(_F)


def _covered(best: NDArray[np.float32], width_px: NDArray[np.float64]) -> Pixels:
    """From packed distances and directions to grey levels, (n, H*W)."""
    whole = np.floor(best * _F(1 / _PACK))
    cover = (whole > 0).astype(_F)
    crossed = np.flatnonzero(np.abs(whole) < edge.REACH_PX * UNITS)
    distance = whole.reshape(-1)[crossed]
    direction = (best.reshape(-1)[crossed] - distance * _PACK).astype(np.intp)
    distance *= _F(1 / UNITS)
    share = edge.edge_cover(distance, direction)
    # The mean of the widest and the narrowest piece: sums of many would not be exact.
    pen = (0.5 * (width_px.min(axis=1) + width_px.max(axis=1))).astype(_F)
    pen[_is_uneven(width_px)] = _F(2 * edge.REACH_PX)
    around = pen[crossed // best.shape[1]]
    thin = np.flatnonzero(around < 2 * edge.REACH_PX)  # both edges may cross one pixel
    if len(thin):
        beyond = edge.edge_cover(distance[thin] - around[thin], direction[thin])
        share[thin] = np.maximum(share[thin] - beyond, _F(0.0))
    cover.reshape(-1)[crossed] = share
    cover *= _F(255.0)
    cover += _F(0.5)
    return np.asarray(cover, dtype=np.uint8)
