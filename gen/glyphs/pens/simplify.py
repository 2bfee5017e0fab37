"""Fewer points on a line, none of it moved by more than a stated distance.

Two steps. Points that follow one another inside one cell of a fine grid are one
point: time is linear, and a pen that rests or is read too often no longer costs
anything. Then the rule of Ramer, Douglas and Peucker: between two points that are
kept the farthest of the others is kept too, if it is farther from the straight piece
than the tolerance.

References
----------
U. Ramer, Computer Graphics and Image Processing 1 (1972) 244-256; D. H. Douglas and
T. K. Peucker, The Canadian Cartographer 10 (1973) 112-122.
"""

from __future__ import annotations

import numpy as np

from gen.core.errors import GlyphError
from gen.glyphs.base import Real, Whole

WITHIN_PX = 0.02
"""The line that is left passes within this of every point of the line that was given."""

MOST_PIECES = 512
"""Straight pieces of one mark. A letter has about fifty."""

MOST_POINTS = 1 << 17
"""Points of one line once those of one cell are one."""

_SHARE_OF_CELLS = 0.25


def simplified(where: str, points: Real, *, most: int = MOST_PIECES) -> Real:
    """The same line with fewer points.

    Parameters
    ----------
    where
        The mark, for errors.
    points
        ndarray of shape (m, 2), float64, (y, x) in px.
    most
        The most pieces that may be left.

    Returns
    -------
    ndarray of shape (k, 2), float64
        Some of the points, the first and the last among them.

    Raises
    ------
    GlyphError
        If more pieces are left than `most`.

    Examples
    --------
    >>> simplified("tag", np.array([[0.0, 0.0], [0.01, 5.0], [0.0, 9.0], [4.0, 9.0]]))
    array([[0., 0.],
           [0., 9.],
           [4., 9.]])
    """
    thinned = points[_one_a_cell(points)]
    if len(thinned) <= 2:
        return thinned
    if len(thinned) > MOST_POINTS:
        raise _too_many(where, f"over {MOST_POINTS:,} points", f"{MOST_POINTS:,} points a stroke")
    kept = _kept(thinned, WITHIN_PX * (1.0 - _SHARE_OF_CELLS), most)
    if kept is None:
        raise _too_many(where, f"over {most:,} pieces", f"{most:,} straight pieces")
    return thinned[kept]


def _too_many(where: str, got: str, allowed: str) -> GlyphError:
    return GlyphError(
        where,
        "the pen goes to and fro far more than in any mark",
        got=f"{got}, after leaving out what moves it by under {WITHIN_PX} px",
        allowed=allowed,
    )


def _one_a_cell(points: Real) -> Whole:
    """The first point of each visit to a cell, and the last point of all."""
    # The diagonal of a cell is what a point may be moved by.
    side = WITHIN_PX * _SHARE_OF_CELLS / 1.5
    cells = np.floor(points * (1.0 / side))
    new = np.ones(len(points), bool)
    new[1:] = (cells[1:] != cells[:-1]).any(axis=1)
    new[-1] |= bool((points[-1] != points[0]).any())
    return np.flatnonzero(new)


def _kept(points: Real, within: float, most: int) -> Whole | None:
    """Indices kept by Ramer, Douglas and Peucker; None if they are too many."""
    keep = np.zeros(len(points), bool)
    keep[[0, -1]] = True
    count = 1
    waiting = [(0, len(points) - 1)]
    while waiting:
        first, last = waiting.pop()
        if last - first < 2:
            continue
        off = _distance2(points[first + 1 : last], points[first], points[last])
        farthest = int(np.argmax(off))
        if off[farthest] <= within * within:
            continue
        count += 1
        if count > most:
            return None
        at = first + 1 + farthest
        keep[at] = True
        waiting += [(first, at), (at, last)]
    return np.flatnonzero(keep)


def _distance2(points: Real, start: Real, end: Real) -> Real:
    """Squared distances of points to a straight piece, its ends included, (m,)."""
    along_y, along_x = float(end[0] - start[0]), float(end[1] - start[1])
    dy, dx = points[:, 0] - start[0], points[:, 1] - start[1]
    length2 = along_y * along_y + along_x * along_x
    if length2 > 0:
        share = np.clip((dy * along_y + dx * along_x) / length2, 0.0, 1.0)
        dy, dx = dy - share * along_y, dx - share * along_x
    return np.asarray(dy * dy + dx * dx, dtype=np.float64)
