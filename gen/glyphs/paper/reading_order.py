"""Marks put into lines, and lines into the order in which they are read."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from gen.glyphs.base import Real

_LINE = 0.6


def reading_order(centres: Real, size: float) -> list[NDArray[np.intp]]:
    """Lines of marks, downwards, each from left to right.

    Parameters
    ----------
    centres
        ndarray of shape (n, 2), float64: middles of marks, (x, y), px.
    size
        M, px.

    Examples
    --------
    >>> marks = np.array([[90.0, 12.0], [10.0, 10.0], [12.0, 60.0]])
    >>> [line.tolist() for line in reading_order(marks, 30.0)]
    [[1, 0], [2]]
    """
    slopes = np.tan(np.deg2rad(np.arange(-10, 10.25, 0.25)))
    slopes = slopes[np.argsort(np.abs(slopes), kind="stable")]
    levels = centres[:, 1] - slopes[:, None] * centres[:, 0]
    # A mark that lies on a line of others has a neighbour at nearly its level.
    ordered = np.sort(levels, axis=1)
    steps = np.minimum(np.diff(ordered, axis=1), _LINE * size).sum(axis=1)
    level = levels[int(steps.argmin())]
    lines: list[list[int]] = []
    for index in np.argsort(level, kind="stable"):
        if lines and level[index] - np.mean(level[lines[-1]]) <= _LINE * size:
            lines[-1].append(int(index))
        else:
            lines.append([int(index)])
    return [np.array(sorted(line, key=lambda at: centres[at, 0]), np.intp) for line in lines]
