"""Connected pieces of ink, for many pictures at once."""

from __future__ import annotations

import numpy as np

from gen.diagnose.paper import Mask
from gen.glyphs.base import Pixels, Whole

SPECK_PX = 3
"""Pieces of fewer pixels than this are specks, unless nothing larger is there."""
_AT_ONCE = 2048


def pieces(ink: Mask) -> tuple[Whole, Mask]:
    """Count the pieces of each picture, joined along edges and corners (8-connected).

    Parameters
    ----------
    ink
        ndarray of shape (n, H, W), bool.

    Returns
    -------
    tuple
        How many there are, specks left out, ndarray of shape (n,), intp; and the pixels of
        those, ndarray of shape (n, H, W), bool.

    Examples
    --------
    >>> two = np.zeros((1, 5, 5), bool)
    >>> two[0, :2, :2] = two[0, 3:, 3:] = True
    >>> pieces(two)[0].tolist()
    [2]
    """
    count, height, width = ink.shape
    number = np.zeros(count, np.intp)
    kept = np.zeros_like(ink)
    for start in range(0, count, _AT_ONCE):
        part = ink[start : start + _AT_ONCE]
        # One tall picture with an empty row between two of them is labelled in one go.
        tall = np.zeros((len(part), height + 1, width), np.uint8)
        tall[:, :height] = part
        found, area, top = _labelled(tall.reshape(-1, width))
        owner = top // (height + 1)
        largest = np.zeros(len(part), np.intp)
        np.maximum.at(largest, owner[1:], area[1:])
        counts = area >= np.minimum(SPECK_PX, largest[owner])
        counts[0] = False  # the ground
        number[start : start + len(part)] = np.bincount(owner[counts], minlength=len(part))
        chosen = counts[found].reshape(tall.shape)
        kept[start : start + len(part)] = chosen[:, :height]
    return number, kept


def _labelled(tall: Pixels) -> tuple[Whole, Whole, Whole]:
    """Label of each pixel, and area and top row of each label; label 0 is the ground."""
    import cv2

    _, found, facts, _ = cv2.connectedComponentsWithStats(tall, connectivity=8)
    facts = np.asarray(facts)
    area = facts[:, cv2.CC_STAT_AREA].astype(np.intp)
    return np.asarray(found), area, facts[:, cv2.CC_STAT_TOP].astype(np.intp)
