"""The same picture twice: inside a set, and in two sets.

Means over blocks of each picture are laid along a few random lines; the same picture, or
nearly the same, comes to lie beside itself. Each pair that is met so is compared pixel by
pixel. Time goes up with the number of pictures and not with its square.
"""

from __future__ import annotations

import numpy as np

from gen.glyphs.base import Pixels, Real, Whole

SAME_GREY = 2.0
"""Mean difference in grey levels, over the frame, up to which two pictures are one."""
SAME_INK = 0.06
"""And as a share of their ink, so that small marks aren't alike for being small."""
_BLOCKS = 4
_LINES, _BESIDE = 4, 6
_AT_ONCE = 65536


def near_duplicates(images: Pixels) -> Whole:
    """Pairs of pictures that are the same, or nearly.

    Parameters
    ----------
    images
        ndarray of shape (n, H, W), uint8. Pictures of one even tone are left out.

    Returns
    -------
    ndarray of shape (pairs, 2), intp, the lower index first, in order. Of many alike each
    is paired with some of the others.

    Examples
    --------
    >>> rng = np.random.default_rng(0)
    >>> images = rng.integers(0, 256, (50, 8, 8), dtype=np.uint8)
    >>> images[40] = images[3]
    >>> near_duplicates(images).tolist()
    [[3, 40]]
    """
    inked = np.flatnonzero(np.ptp(images.reshape(len(images), -1), axis=1) > 0)
    if len(inked) < 2:
        return np.zeros((0, 2), np.intp)
    means = _block_means(images)[inked]
    rng = np.random.default_rng(20)
    found = []
    for _ in range(_LINES):
        line = rng.normal(size=means.shape[1])
        order = np.argsort(means @ (line / np.linalg.norm(line)), kind="stable")
        for apart in range(1, min(_BESIDE, len(order) - 1) + 1):
            first, second = order[:-apart], order[apart:]
            close = np.abs(means[first] - means[second]).mean(axis=1) <= SAME_GREY
            found.append(np.stack([inked[first[close]], inked[second[close]]], axis=1))
    pairs = np.unique(np.sort(np.concatenate(found), axis=1), axis=0)
    same = np.zeros(len(pairs), np.bool_)
    for start in range(0, len(pairs), _AT_ONCE):
        a, b = pairs[start : start + _AT_ONCE].T
        differs = np.abs(images[a].astype(np.int16) - images[b]).mean(axis=(1, 2))
        ink = np.maximum(images[a].mean(axis=(1, 2)), images[b].mean(axis=(1, 2)))
        same[start : start + _AT_ONCE] = differs <= np.minimum(SAME_GREY, SAME_INK * ink)
    return np.asarray(pairs[same])


def across(images: Pixels, others: Pixels) -> Whole:
    """Pairs of a picture of the first set and the same in the second, (pairs, 2)."""
    if images.shape[1:] != others.shape[1:]:
        return np.zeros((0, 2), np.intp)
    pairs = near_duplicates(np.concatenate([images, others]))
    crossing = (pairs[:, 0] < len(images)) & (pairs[:, 1] >= len(images))
    return np.asarray(pairs[crossing] - np.array([0, len(images)]))


def _block_means(images: Pixels) -> Real:
    """Means over _BLOCKS x _BLOCKS parts of each frame, (n, blocks)."""
    count, height, width = images.shape
    down, right = (np.array_split(np.arange(side), min(_BLOCKS, side)) for side in (height, width))
    out = np.empty((count, len(down) * len(right)))
    place = 0
    for rows in down:
        for columns in right:
            part = images[:, rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
            out[:, place] = part.mean(axis=(1, 2))
            place += 1
    return out
