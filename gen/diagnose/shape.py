"""Where the ink of each picture lies, how large the mark is, and how it leans."""

from __future__ import annotations

import numpy as np

from gen.diagnose.paper import Levels, Mask, Single, near
from gen.glyphs.base import Real

_QUIET = 0.5
"""Grey levels of noise under which every pixel counts; over it those near the mark do."""
_NEAR_PX = 4
_TALL_PX2 = 2.0
"""Variance of the middle line down the frame that a mark needs to show how it leans."""


def weights(seen: Levels, marks: Mask) -> Single:
    """How much ink each pixel counts for, ndarray of shape (n, H, W), float32."""
    out = seen.rise.copy()
    noisy = np.flatnonzero(np.nan_to_num(seen.noise) > _QUIET)
    if len(noisy):
        room = near(marks[noisy], _NEAR_PX)
        part = out[noisy]
        # What noise that is cut off below leaves on the paper on average is taken off.
        rest = ~room
        left = (part * rest).sum(axis=(1, 2)) / np.maximum(rest.sum(axis=(1, 2)), 1)
        out[noisy] = (part - left[:, None, None]) * room
    out[~seen.seen] = 0
    return out


def moments(weight: Single) -> tuple[Real, Real, Real]:
    """Sum (n,), centroid from the frame's centre (n, 2), covariance (n, 2, 2); (y, x), px."""
    count, height, width = weight.shape
    y, x = (np.arange(side) - (side - 1) / 2 for side in (height, width))
    rows = weight.sum(axis=2, dtype=np.float64)
    columns = weight.sum(axis=1, dtype=np.float64)
    total = rows.sum(axis=1)
    safe = np.where(total > 0, total, np.nan)
    centre = np.stack([rows @ y, columns @ x], axis=1) / safe[:, None]
    across = np.einsum("nyx,y,x->n", weight, y, x, optimize=True)
    second = np.empty((count, 2, 2))
    second[:, 0, 0] = rows @ y**2
    second[:, 1, 1] = columns @ x**2
    second[:, 0, 1] = second[:, 1, 0] = across
    second /= safe[:, None, None]
    return total, centre, second - centre[:, :, None] * centre[:, None, :]


def box(seen: Levels, marks: Mask) -> Real:
    """Top, bottom, left and right edge of each mark, (n, 4), px; between the pixels.

    An edge is where the brightest pixel of a row, or column, passes half way.
    """
    near_mark = np.where(near(marks, 1), seen.rise, 0)
    half = (seen.contrast / 2)[:, None]
    found = []
    for axis in (2, 1):
        most = near_mark.max(axis=axis).astype(np.float64)
        for line, way in ((most, 1), (most[:, ::-1], -1)):
            edge = _crossing(line, half)
            found.append(edge if way == 1 else line.shape[1] - 1 - edge)
    return np.stack(found, axis=1)


def _crossing(line: Real, half: Real) -> Real:
    """Where each row first rises over half, between the two values either side of it."""
    over = line > half
    first = over.argmax(axis=1)
    rows = np.arange(len(line))
    after = line[rows, first]
    before = np.where(first > 0, line[rows, np.maximum(first - 1, 0)], 0.0)
    step = np.where(after > before, after - before, 1.0)
    edge = first - (after - half[:, 0]) / step
    # A mark that the frame cuts off ends with the frame.
    edge = np.where(first == 0, np.maximum(edge, -0.5), edge)
    return np.where(over.any(axis=1), edge, np.nan)


def slant_deg(seen: Levels, marks: Mask, covariance: Real, wide: Real, sigma: Real) -> Real:
    """How far each mark leans, deg, to the right at the top positive, by second moments.

    The lean of an upright is its middle line's covariance of x and y over its variance
    along y. What the pen's width adds across the strokes, and blur on all sides, is taken
    off first: w^2 / 12 along the direction in which grey levels change, and sigma^2.
    """
    pen = np.nan_to_num(wide)[:, None, None] ** 2 / 12
    soft = np.nan_to_num(sigma)[:, None, None] ** 2 + 1 / 12
    line = covariance - pen * _across(seen, marks) - soft * np.eye(2)
    tall = line[:, 0, 0] >= _TALL_PX2
    ratio = -line[:, 0, 1] / np.where(tall, line[:, 0, 0], 1.0)
    return np.where(tall, np.rad2deg(np.arctan(ratio)), np.nan)


def _across(seen: Levels, marks: Mask) -> Real:
    """Mean of n n' over the edges of each mark, n the direction across, (n, 2, 2)."""
    room = near(marks, 2)
    down, right = np.zeros_like(seen.rise), np.zeros_like(seen.rise)
    down[:, 1:-1] = seen.rise[:, 2:] - seen.rise[:, :-2]
    right[:, :, 1:-1] = seen.rise[:, :, 2:] - seen.rise[:, :, :-2]
    down *= room
    right *= room
    out = np.empty((len(marks), 2, 2))
    out[:, 0, 0] = np.einsum("nyx,nyx->n", down, down)
    out[:, 1, 1] = np.einsum("nyx,nyx->n", right, right)
    out[:, 0, 1] = out[:, 1, 0] = np.einsum("nyx,nyx->n", down, right)
    size = out[:, 0, 0] + out[:, 1, 1]
    return out / np.where(size > 0, size, 1.0)[:, None, None]
