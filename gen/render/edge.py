"""How much of a pixel lies on the inked side of a straight edge, exactly.

For a unit pixel, an edge with the normal (a, b), a >= b >= 0, a**2 + b**2 = 1, and
the signed distance c of the pixel's centre from the edge, inked side positive:

    1/2 + c / a                                     for |c| <= (a - b) / 2
    1 - ((a + b) / 2 - c)**2 / (2 a b)              from there to c = (a + b) / 2
    1                                               beyond

and the rest by symmetry, cover(-c) = 1 - cover(c). It follows from cutting the
square with the line; the tests hold it to a polygon clipped numerically.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from gen.core.exact import cos_sin_deg

_F = np.float32

DIRECTIONS = 46
"""Normals told apart, from along the grid (0) to along its diagonal (45), a degree apart."""

_NORMALS = np.array([cos_sin_deg(float(place)) for place in range(DIRECTIONS)], _F)
LARGER, SMALLER = _NORMALS[:, 0], _NORMALS[:, 1]
REACH_PX = 0.7072
"""No edge farther than this from a pixel's centre touches the pixel."""


def direction_of(y: NDArray[np.float32], x: NDArray[np.float32]) -> NDArray[np.float32]:
    """The nearest direction, 0 to 45, of an edge that runs along (y, x); 0 for no length.

    Examples
    --------
    >>> direction_of(np.array([0.0, 1.0, -1.0], _F), np.array([2.0, 1.0, 4.0], _F)).tolist()
    [0.0, 45.0, 14.0]
    """
    y, x = np.abs(y), np.abs(x)
    larger, smaller = np.maximum(y, x), np.minimum(y, x)
    slope = smaller / np.where(larger > 0, larger, _F(1.0))
    # The tangents half-way between neighbouring directions.
    borders = (SMALLER[1:] + SMALLER[:-1]) / (LARGER[1:] + LARGER[:-1])
    return np.searchsorted(borders, slope).astype(_F)


def edge_cover(
    distance_px: NDArray[np.float32], direction: NDArray[np.intp]
) -> NDArray[np.float32]:
    """Share of each pixel on the inked side of its edge.

    Parameters
    ----------
    distance_px
        ndarray, float32: of the pixel's centre from the edge, inked side positive.
    direction
        ndarray of the same shape, intp: which of the `DIRECTIONS` the edge has.

    Returns
    -------
    ndarray of the same shape, float32, between 0 and 1.

    Examples
    --------
    >>> diagonal = np.array([45, 45, 45])
    >>> [f"{share:.4f}" for share in edge_cover(np.array([0.0, 0.25, -0.5], _F), diagonal)]
    ['0.5000', '0.7911', '0.0429']
    """
    a, b = LARGER[direction], SMALLER[direction]
    away = np.abs(distance_px)
    straight = np.minimum(away, (a - b) * _F(0.5))
    curved = np.clip(away - straight, _F(0.0), b)
    share = (straight + curved - curved * curved / np.where(b > 0, b + b, _F(1.0))) / a
    return np.asarray(np.copysign(share, distance_px) + _F(0.5), dtype=_F)
