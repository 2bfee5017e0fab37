"""Motion blur: an even smear in a straight line, with the variance that was asked.

A smear of length L has the variance L**2 / 12. Its line is followed along the axis that
it is nearer to, one pixel at a time: whole pixels within a half length l of the middle
get the same weight, the two at the ends less, and l is chosen so that the variance along
that axis comes out exactly. At each of those pixels the line's place across is shared
between the two nearest pixels, so the covariance of the axes is exact too; where the line
runs between pixels this sharing adds at most 1/4 px**2 across, and nothing along x, y or
a diagonal.

Weights are whole multiples of 2**-16, so sums of products with 8-bit pixels are exact in
float32.
"""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from gen.glyphs.base import Pixels, Real

ONE = 1 << 16


def line_weights(length_px: Fraction) -> list[Fraction]:
    """Weights at 0, 1, 2 ... px from the middle of a smear along an axis.

    All but the last are equal. They add up to 1 and have the variance length**2 / 12,
    both sides counted.

    Examples
    --------
    A length of the root of 8 px is three whole pixels: (1 + 0 + 1) / 3 = 8 / 12.

    >>> [float(w) for w in line_weights(Fraction(1))]
    [0.9166666666666666, 0.041666666666666664]
    """
    variance = length_px * length_px / 12
    whole = 0
    # With so many whole pixels a side the variance may lie between those of 2m + 1 and 2m + 3.
    while variance > Fraction((2 * whole + 3) ** 2 - 1, 12):
        whole += 1
    inner = Fraction(whole * (whole + 1) * (2 * whole + 1), 3)
    reach = (whole + 1) ** 2
    span = ((2 * whole + 1) * reach - inner) / (reach - variance)
    end = (1 - (2 * whole + 1) / span) / 2
    return [1 / span] * (whole + 1) + [end]


@lru_cache(maxsize=256)
def smear(length_px: float, way: tuple[float, float]) -> tuple[tuple[int, int, int], ...]:
    """The smear as (dy, dx, weight), weights in steps of 2**-16 that add up to 2**16.

    Examples
    --------
    >>> smear(1.0, (0.0, 1.0))
    ((0, -1, 2731), (0, 0, 60074), (0, 1, 2731))
    """
    steep = abs(way[0]) > abs(way[1])
    along, across = (way[0], way[1]) if steep else (way[1], way[0])
    slope = Fraction(across) / Fraction(along)
    found: dict[tuple[int, int], int] = {}
    for step, weight in enumerate(line_weights(Fraction(length_px) * abs(Fraction(along)))):
        for place in {step, -step}:
            beside = place * slope
            low = beside.numerator // beside.denominator
            for share, at in ((1 - (beside - low), low), (beside - low, low + 1)):
                count = round(weight * share * ONE)
                if count:
                    key = (place, at) if steep else (at, place)
                    found[key] = found.get(key, 0) + count
    found[0, 0] += ONE - sum(found.values())
    return tuple((dy, dx, count) for (dy, dx), count in sorted(found.items()))


def motion_blur(images: Pixels, length_px: float, way: tuple[float, float]) -> Pixels:
    """Smear pictures.

    Parameters
    ----------
    images
        ndarray of shape (n, H, W), uint8.
    length_px
        Length of the smear, px, not negative.
    way
        (dy, dx), a unit vector; a smear is the same both ways.

    Returns
    -------
    ndarray of shape (n, H, W), uint8

    Examples
    --------
    >>> dot = np.zeros((1, 5, 5), np.uint8)
    >>> dot[0, 2, 2] = 240
    >>> motion_blur(dot, 8**0.5, (0.0, 1.0))[0, 2].tolist()
    [0, 80, 80, 80, 0]
    """
    total = _spread(images, length_px, way)
    total *= np.float32(1 / ONE)
    total += np.float32(0.5)
    return np.asarray(total, dtype=np.uint8)


def kept(frame: tuple[int, int], length_px: float, way: tuple[float, float]) -> Real:
    """How much of the ink of each pixel stays in the frame, (H, W), float64."""
    # A smear is the same both ways, so what a pixel gives is what it would get.
    even = np.ones((1, *frame), np.uint8)
    return np.asarray(_spread(even, length_px, way)[0] / ONE, dtype=np.float64)


def _spread(images: Pixels, length_px: float, way: tuple[float, float]) -> NDArray[np.float32]:
    height, width = images.shape[1:]
    levels = images.astype(np.float32)
    total = np.zeros(images.shape, np.float32)
    for dy, dx, weight in smear(length_px, way):
        if abs(dy) < height and abs(dx) < width:
            to = np.s_[:, max(dy, 0) : height + min(dy, 0), max(dx, 0) : width + min(dx, 0)]
            seen = np.s_[:, max(-dy, 0) : height + min(-dy, 0), max(-dx, 0) : width + min(-dx, 0)]
            total[to] += levels[seen] * np.float32(weight)
    return total
