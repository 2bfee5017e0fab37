"""Fewer pixels at the capture: down to a coarser grid and back up, as one operator.

A coarse pixel is a square 1 / ratio px a side, on a grid centred on the frame, and takes
the mean of what it covers; bare paper lies outside the frame. Enlarged back, its square
keeps its value, and a pixel takes the mean of the squares that cover it. Both steps are
shares of area, as in `gen.render.overlap`; rows and columns are worked one after the other.

Shares of a line are rounded once, to whole multiples of 2**-20, so that products with an
8-bit pixel and sums stay under 2**53 and are exact in float64.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from gen.glyphs.base import Pixels, Real

BITS = 20


@lru_cache(maxsize=256)
def line(length: int, ratio: float) -> Real:
    """What each pixel of a line takes from each, (length, length), in steps of 2**-20.

    Examples
    --------
    >>> (line(4, 0.5) / 2**20).tolist()
    [[0.5, 0.5, 0.0, 0.0], [0.5, 0.5, 0.0, 0.0], [0.0, 0.0, 0.5, 0.5], [0.0, 0.0, 0.5, 0.5]]
    """
    # A count that is a whole number but for rounding stays that number.
    count = int(np.ceil(length * ratio - 1e-9))
    side = 1.0 / ratio
    borders = (np.arange(count + 1) - count / 2) * side + (length - 1) / 2
    low, high = borders[:-1, None], borders[1:, None]
    at = np.arange(length)[None, :]
    covered = np.clip(np.minimum(high, at + 0.5) - np.maximum(low, at - 0.5), 0.0, 1.0)
    matrix = np.zeros((length, length))
    for coarse in covered:
        matrix += coarse[:, None] * (coarse[None, :] * ratio)
    # Rounded as a running sum, so that the shares of a pixel add up to the whole.
    ends = np.rint(np.cumsum(matrix, axis=1) * (1 << BITS))
    matrix = np.diff(ends, axis=1, prepend=0.0)
    matrix.setflags(write=False)
    return matrix


def reduce(images: Pixels, ratio: float) -> Pixels:
    """Pictures taken with this share of the pixels a side, enlarged back to their size.

    Parameters
    ----------
    images
        ndarray of shape (n, H, W), uint8.
    ratio
        Over 0, at most 1.

    Returns
    -------
    ndarray of shape (n, H, W), uint8

    Examples
    --------
    >>> dot = np.zeros((1, 4, 4), np.uint8)
    >>> dot[0, 1, 2] = 200
    >>> reduce(dot, 0.5)[0].tolist()
    [[0, 0, 50, 50], [0, 0, 50, 50], [0, 0, 0, 0], [0, 0, 0, 0]]
    """
    count, height, width = images.shape
    down, across = line(height, ratio), line(width, ratio)
    wide = images.reshape(count * height, width).astype(np.float64) @ across.T
    both = np.asarray(np.matmul(down, wide.reshape(count, height, width)), dtype=np.float64)
    both *= 0.5 ** (2 * BITS)
    both += 0.5
    return np.asarray(both, dtype=np.uint8)


def kept(frame: tuple[int, int], ratio: float) -> Real:
    """How much of the ink of each pixel stays in the frame, (H, W), float64."""
    down, across = (line(side, ratio).sum(axis=0) for side in frame)
    share = np.outer(down, across) * 0.5 ** (2 * BITS)
    return np.asarray(share, dtype=np.float64)
