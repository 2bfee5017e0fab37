"""Pieces of ink put together to marks; the rules are those of `loose`."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

_DOT, _DOT_REACH = 0.45, 0.5


def joined(
    shown: NDArray[np.int32], longer: NDArray[np.int64], size: float, join: float
) -> NDArray[np.intp]:
    """The mark of each piece: ndarray of shape (pieces,), from 0."""
    import cv2
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    count = len(longer)
    pairs = _close_pairs(shown, join * size)
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
