"""Pictures of one size brought into another: each pixel a small square of ink.

A new pixel takes from each old one the share of its own area that the old one covers.
Reducing is thus the mean over all that falls into a pixel, and in enlarging each old
pixel stays a square with hard edges; nothing is made up between two of them. Ink times
area is kept, and so is the centroid.

Where strokes get a width, steps of squares would pass for the edge of the pen. There the
picture can be taken as the surface through its pixel values, linear in between, whose mean
over each new pixel keeps ink and centroid as well.

Shares are whole multiples of 2**-20 and are summed in float64, where rows and then
columns of 8-bit pixels stay under 2**53: sums are exact, and no order changes a byte.
"""

from __future__ import annotations

import numpy as np

from gen.glyphs.base import Pixels, Real

ONE_A_SIDE = 1 << 20
_TOGETHER = 1 << 21  # old pixels turned into float64 at a time


def line_shares(step: Real, start: Real, new: int, old: int) -> Real:
    """How much each new pixel of a line takes from each old one.

    Parameters
    ----------
    step, start
        ndarrays of shape (n,): new pixel j covers the old line from
        start + step (j - 1/2) to start + step (j + 1/2).
    new, old
        Pixels of the new line and of the old one.

    Returns
    -------
    ndarray of shape (n, new, old), float64, whole steps of 2**-20; what lies off the old
    line is bare.

    Examples
    --------
    Two old pixels to a new one, and a half of the third beyond them:

    >>> shares = line_shares(np.array([2.0]), np.array([0.5]), 2, 3)
    >>> (shares / ONE_A_SIDE)[0].tolist()
    [[0.5, 0.5, 0.0], [0.0, 0.0, 0.5]]
    """
    at = np.arange(new, dtype=float)
    size = np.abs(step)[:, None, None]
    low = (start[:, None] + step[:, None] * at)[:, :, None] - size / 2
    borders = np.arange(old + 1, dtype=float) - 0.5
    # Rounded as a running sum, so that the shares of a pixel add up to the whole.
    covered = np.rint(np.clip((borders - low) / size, 0.0, 1.0) * ONE_A_SIDE)
    return np.diff(covered, axis=2)


def linear_shares(step: Real, start: Real, new: int, old: int) -> Real:
    """The same of a line that is linear between its pixels' centres, and bare beyond them.

    Examples
    --------
    One old pixel over four new ones, a triangle with its tip between two of them:

    >>> shares = linear_shares(np.array([0.5]), np.array([-0.75]), 4, 1)
    >>> (shares / ONE_A_SIDE)[0, :, 0].tolist()
    [0.25, 0.75, 0.75, 0.25]
    """
    at = np.arange(new, dtype=float)
    size = np.abs(step)[:, None, None]
    low = (start[:, None] + step[:, None] * at)[:, :, None] - size / 2
    # What the old pixels up to one weigh together: all before its centre, nothing from the
    # next centre on, and in between linearly less.
    centres = np.arange(-1, old, dtype=float)
    together = _weighed(low + size - centres) - _weighed(low - centres)
    return np.diff(np.rint(np.clip(together / size, 0.0, 1.0) * ONE_A_SIDE), axis=2)


def _weighed(beyond: Real) -> Real:
    """The integral of a weight that is 1 up to here, and falls to 0 over the next px."""
    fallen = np.clip(beyond, 0.0, 1.0)
    return np.minimum(beyond, 0.0) + fallen - fallen * fallen / 2


def brought(
    images: Pixels, ratio: Real, shift: Real, frame: tuple[int, int], *, linear: bool = False
) -> Pixels:
    """Pictures of one size laid into a frame of another.

    Parameters
    ----------
    images
        ndarray of shape (n, h, w), uint8, ink bright.
    ratio, shift
        ndarrays of shape (n,) and (n, 2): the old point p goes to ratio p + shift, (y, x).
    frame
        (H, W) of the new pictures, px.
    linear
        Whether old pictures are linear between their pixels, and not squares.

    Returns
    -------
    ndarray of shape (n, H, W), uint8; paper where no old pixel comes to lie.

    Examples
    --------
    >>> page = np.array([[[0, 0, 200, 200], [0, 0, 200, 100]]], np.uint8)
    >>> brought(page, np.array([0.5]), np.array([[-0.25, -0.25]]), (1, 2)).tolist()
    [[[0, 175]]]
    """
    count, height, width = images.shape
    out = np.empty((count, *frame), np.uint8)
    shares = linear_shares if linear else line_shares
    back, start = 1.0 / ratio, -shift / ratio[:, None]
    together = max(1, _TOGETHER // (height * width))
    for first in range(0, count, together):
        part = slice(first, first + together)
        down = shares(back[part], start[part, 0], frame[0], height)
        across = shares(back[part], start[part, 1], frame[1], width)
        out[part] = _summed(images[part], down, across)
    return out


def _summed(images: Pixels, down: Real, across: Real) -> Pixels:
    """Rows of a large picture are taken a few at a time; the whole sums don't mind."""
    height, width = images.shape[1:]
    total = np.zeros((len(images), down.shape[1], across.shape[1]))
    step = max(1, _TOGETHER // (len(images) * width))
    for top in range(0, height, step):
        rows = slice(top, top + step)
        lines = images[:, rows].astype(np.float64) @ across.transpose(0, 2, 1)
        total += down[:, :, rows] @ lines
    total *= 1.0 / ONE_A_SIDE / ONE_A_SIDE
    return np.asarray(np.rint(total, out=total), dtype=np.uint8)
