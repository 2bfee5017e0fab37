"""Pieces of ink put together to marks; the rules are those of `loose`."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

_DOT, _DOT_REACH = 0.45, 0.5
_FLAT, _ALIKE, _OVER, _STACK = 2.0, 0.5, 0.6, 0.5
_FARTHEST = 1.5  # between middles of bars: what is longer is no sign but a rule


def joined(
    shown: NDArray[np.int32], boxes: NDArray[np.int64], size: float, join: float
) -> NDArray[np.intp]:
    """The mark of each piece: ndarray of shape (pieces,), from 0.

    Parameters
    ----------
    shown
        ndarray of shape (H, W): the number of the piece that each pixel is of, from 1.
    boxes
        ndarray of shape (pieces, 4 or more): left, top, width and height of each, px.
    size, join
        M in px, and the gap under which two are one, in M.
    """
    import cv2
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    longer = boxes[:, 2:4].max(axis=1)
    count = len(longer)
    pairs = np.concatenate([_close_pairs(shown, join * size), _stacked_bars(boxes, size)])
    alone = longer < _DOT * size
    small = longer < _DOT * size
    if small.any() and not small.all():
        large = np.concatenate([[False], ~small])[shown]
        away, nearest = cv2.distanceTransformWithLabels(
            (~large).astype(np.uint8), cv2.DIST_L2, 5, labelType=cv2.DIST_LABEL_PIXEL
        )
        # Labels number the pixels of the large pieces; which piece is read from one of them.
        at = np.zeros(int(nearest.max()) + 1, np.int32)
        at[nearest[large]] = shown[large]
        dot = np.concatenate([[False], small])[shown]
        piece, distance, owner = shown[dot], away[dot], at[nearest[dot]]
        order = np.lexsort((distance, piece))
        first = order[np.unique(piece[order], return_index=True)[1]]
        near = first[distance[first] <= _DOT_REACH * size]
        pairs = np.concatenate([pairs, np.stack([piece[near], owner[near]], axis=1)])
        alone[piece[near] - 1] = False
    pairs = np.concatenate([pairs, _stacked_dots(boxes, alone, size)])
    ones = np.ones(len(pairs), np.int8)
    links = coo_array((ones, (pairs[:, 0] - 1, pairs[:, 1] - 1)), shape=(count, count))
    return np.asarray(connected_components(links, directed=False)[1], np.intp)


def _close_pairs(shown: NDArray[np.int32], gap: float) -> NDArray[np.int32]:
    """Pairs of pieces with ink closer than a gap: ndarray of shape (n, 2), from 1."""
    from scipy.spatial import cKDTree

    dark = shown > 0
    inner = dark.copy()
    inner[1:-1, 1:-1] = dark[1:-1, 1:-1] & dark[:-2, 1:-1] & dark[2:, 1:-1]
    inner[1:-1, 1:-1] &= dark[1:-1, :-2] & dark[1:-1, 2:]
    y, x = np.nonzero(dark & ~inner)
    # From edge to edge of the ink: a pixel less than from centre to centre.
    found = cKDTree(np.stack([y, x], axis=1)).query_pairs(gap + 1.0, output_type="ndarray")
    pieces = shown[y, x]
    pairs = np.stack([pieces[found[:, 0]], pieces[found[:, 1]]], axis=1)
    return np.unique(np.sort(pairs[pairs[:, 0] != pairs[:, 1]], axis=1), axis=0)


def _stacked_bars(boxes: NDArray[np.int64], size: float) -> NDArray[np.intp]:
    """Pairs of flat pieces, one above the other, as in an equals sign: (n, 2), from 1."""
    left, top, wide, high = boxes[:, :4].T
    flat = np.flatnonzero(wide >= _FLAT * high)
    one, other = _near(boxes, flat, _FARTHEST * size)
    shorter, longer = np.minimum(wide[one], wide[other]), np.maximum(wide[one], wide[other])
    ends = np.minimum((left + wide)[one], (left + wide)[other])
    over = ends - np.maximum(left[one], left[other])
    low = top + high
    gap = np.maximum(top[one], top[other]) - np.minimum(low[one], low[other])
    good = (shorter >= _ALIKE * longer) & (over >= _OVER * shorter)
    good &= (gap > 0) & (gap <= _STACK * longer)
    return np.stack([one[good], other[good]], axis=1) + 1


def _stacked_dots(
    boxes: NDArray[np.int64], alone: NDArray[np.bool_], size: float
) -> NDArray[np.intp]:
    """Pairs of dots that belong to no larger piece, one above the other: (n, 2), from 1."""
    left, top, wide, high = boxes[:, :4].T
    one, other = _near(boxes, np.flatnonzero(alone), size)
    aside = np.abs((left + wide / 2)[one] - (left + wide / 2)[other])
    apart = np.maximum(top[one], top[other]) - np.minimum((top + high)[one], (top + high)[other])
    good = (aside <= 0.5 * _DOT * size) & (apart <= _DOT_REACH * size)
    return np.stack([one[good], other[good]], axis=1) + 1


def _near(
    boxes: NDArray[np.int64], some: NDArray[np.intp], reach: float
) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Pairs among some pieces whose middles are within a reach of one another."""
    from scipy.spatial import cKDTree

    if len(some) < 2:
        none = np.zeros(0, np.intp)
        return none, none
    middles = boxes[some, :2] + boxes[some, 2:4] / 2
    found = cKDTree(middles).query_pairs(reach, output_type="ndarray")
    return some[found[:, 0]], some[found[:, 1]]
