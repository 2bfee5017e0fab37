"""Moving pixels by an affine map: linear weights, whole-number arithmetic.

Each pixel of the new picture looks back to where it came from and takes the
four pixels round that point with linear weights. Where the map shrinks, the
pixel is divided into 2 x 2, 4 x 4 or 8 x 8 parts that each look back, so that
nothing between the points is missed and thin strokes do not drop out.

Weights are whole multiples of 2**-16. A product with an 8-bit pixel and every
partial sum stays under 2**24, so float32 sums are exact: no order of summation,
thread count or library version changes a byte.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from gen.glyphs.base import Pixels, Real

if TYPE_CHECKING:
    from scipy.sparse import csr_matrix

BITS = 16
ONE = 1 << BITS
CHUNK = 64
"""Glyphs whose own maps are worked on at a time, so that taps stay in cache."""


def inverse_affine(forward: Real) -> Real:
    """The map back, of shape (..., 2, 3), by plain element-wise arithmetic."""
    a, b, c, d = forward[..., 0, 0], forward[..., 0, 1], forward[..., 1, 0], forward[..., 1, 1]
    e, f = forward[..., 0, 2], forward[..., 1, 2]
    det = a * d - b * c
    back = np.empty_like(forward)
    back[..., 0, 0], back[..., 0, 1] = d / det, -b / det
    back[..., 1, 0], back[..., 1, 1] = -c / det, a / det
    back[..., 0, 2] = (b * f - d * e) / det
    back[..., 1, 2] = (c * e - a * f) / det
    return back


def compose(second: Real, first: Real) -> Real:
    """`first`, then `second`: affine maps of shape (2, 3) or (n, 2, 3)."""
    shape = np.broadcast_shapes(first.shape, second.shape)
    out = np.empty(shape)
    for row in (0, 1):
        p, q, r = second[..., row, 0], second[..., row, 1], second[..., row, 2]
        for column in (0, 1, 2):
            moved = p * first[..., 0, column] + q * first[..., 1, column]
            out[..., row, column] = moved + r if column == 2 else moved
    return out


def parts(forward: Real) -> int:
    """Into how many parts a side a pixel is divided: 1 unless the map shrinks."""
    ratio = float(np.sqrt(np.abs(_determinant(forward)).min()))
    for side in (1, 2, 4):
        if ratio * side >= 0.8:
            return side
    return 8


def _determinant(forward: Real) -> Real:
    return np.asarray(
        forward[..., 0, 0] * forward[..., 1, 1] - forward[..., 0, 1] * forward[..., 1, 0]
    )


def _taps(
    back: Real, frame: tuple[int, int], side: int
) -> tuple[NDArray[np.int32], NDArray[np.int32]]:
    """Where each new pixel looks, in a picture with one px of paper round it.

    Parameters
    ----------
    back
        Map of shape (..., 2, 3) from new to old points.

    Returns
    -------
    index, weight
        int32 arrays of shape (..., 4 * side**2, H * W): position in the flattened
        (H + 2) x (W + 2) picture and weight in steps of 2**-16.
    """
    height, width = frame
    total = ONE // (side * side)
    offsets = (np.arange(side) + 0.5) / side - 0.5
    y = np.repeat(np.arange(height, dtype=float), width)
    x = np.tile(np.arange(width, dtype=float), height)
    taps = 4 * side * side
    index = np.empty((*back.shape[:-2], taps, height * width), np.int32)
    weight = np.empty_like(index)
    tap = 0
    for oy in offsets:
        for ox in offsets:
            from_y = _row(back, 0, y + oy, x + ox) + 1.0
            from_x = _row(back, 1, y + oy, x + ox) + 1.0
            floor_y, floor_x = np.floor(from_y), np.floor(from_x)
            part_y, part_x = from_y - floor_y, from_x - floor_x
            # Rounded so that the four add up to the whole and each pair to its margin:
            # the centroid then moves by what was asked to within 2**-17 px.
            down = np.rint(part_y * total)
            right = np.rint(part_x * total)
            both = np.clip(np.rint(part_y * part_x * total), down + right - total, None)
            for step_y, step_x, share in (
                (0, 0, total - down - right + both),
                (0, 1, right - both),
                (1, 0, down - both),
                (1, 1, both),
            ):
                row = np.clip(floor_y + step_y, 0, height + 1).astype(np.int32)
                column = np.clip(floor_x + step_x, 0, width + 1).astype(np.int32)
                index[..., tap, :] = row * np.int32(width + 2) + column
                weight[..., tap, :] = share
                tap += 1
    return index, weight


def _row(back: Real, which: int, y: Real, x: Real) -> Real:
    p, q, r = (back[..., which, column, None] for column in (0, 1, 2))
    return np.asarray(p * y + q * x + r)


def shared_operator(forward: Real, frame: tuple[int, int]) -> csr_matrix:
    """One sparse matrix over pixels for a map that all glyphs share.

    Parameters
    ----------
    forward
        ndarray of shape (2, 3): where each point goes.
    frame
        (H, W) in px.

    Returns
    -------
    csr_matrix of shape (H*W, H*W), float32
        Whole numbers, in steps of 2**-16.
    """
    from scipy.sparse import csr_matrix

    height, width = frame
    index, weight = _taps(inverse_affine(forward), frame, parts(forward))
    target = np.broadcast_to(np.arange(height * width, dtype=np.int32), index.shape)
    row, column = index // (width + 2) - 1, index % (width + 2) - 1
    inside = (weight > 0) & (row >= 0) & (row < height) & (column >= 0) & (column < width)
    matrix = csr_matrix(
        (
            weight[inside].astype(np.float32),
            (target[inside], (row * width + column)[inside]),
        ),
        shape=(height * width, height * width),
    )
    matrix.sum_duplicates()
    return matrix


def apply_shared(matrix: csr_matrix, pixel_major: NDArray[np.float32]) -> Pixels:
    """Apply a shared operator to pixels laid out (H*W, n); the result is (H*W, n), uint8."""
    moved = np.asarray(matrix @ pixel_major, dtype=np.float32)
    moved *= np.float32(1.0 / ONE)
    moved += np.float32(0.5)
    return moved.astype(np.uint8)


def apply_each(forward: Real, images: Pixels) -> Pixels:
    """Move each picture by its own map.

    Parameters
    ----------
    forward
        ndarray of shape (n, 2, 3).
    images
        ndarray of shape (n, H, W), uint8.

    Returns
    -------
    ndarray of shape (n, H, W), uint8
    """
    count, height, width = images.shape
    out = np.empty_like(images)
    for start in range(0, count, CHUNK):
        maps = forward[start : start + CHUNK]
        # The number of parts hangs on the glyph alone, never on its neighbours.
        sides = np.array([parts(one) for one in maps])
        for side in np.unique(sides):
            chosen = np.flatnonzero(sides == side)
            out[start + chosen] = _apply_some(
                maps[chosen], images[start + chosen], (height, width), int(side)
            )
    return out


def _apply_some(forward: Real, images: Pixels, frame: tuple[int, int], side: int) -> Pixels:
    count = len(images)
    padded = np.pad(images, ((0, 0), (1, 1), (1, 1))).reshape(count, 1, -1)
    index, weight = _taps(inverse_affine(forward), frame, side)
    seen = np.take_along_axis(padded, index, axis=2) * weight
    total = seen.sum(axis=1, dtype=np.int32)
    return np.asarray((total + ONE // 2) >> BITS, dtype=np.uint8).reshape(count, *frame)


def inside_share(forward: Real, frame: tuple[int, int]) -> Real:
    """How much of each pixel's ink is still in the frame after a move.

    A pixel is followed as a square of the new size, upright: exact for moves and
    changes of scale, right at the border to within a fraction of a pixel for turns.

    Returns
    -------
    ndarray of shape (..., H*W), float64, between 0 and 1.
    """
    height, width = frame
    y = np.repeat(np.arange(height, dtype=float), width)
    x = np.tile(np.arange(width, dtype=float), height)
    size = np.sqrt(np.abs(_determinant(forward)))[..., None]
    share = np.ones((*forward.shape[:-2], height * width))
    for which, length in ((0, height), (1, width)):
        at = _row(forward, which, y, x)
        low = np.maximum(at - size / 2, -0.5)
        high = np.minimum(at + size / 2, length - 0.5)
        share *= np.clip((high - low) / size, 0.0, 1.0)
    return share
