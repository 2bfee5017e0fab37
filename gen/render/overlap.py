"""Moving pixels: each is a small square of ink, and what it covers is counted exactly.

A new pixel takes from each old one the share of its own area that the old one
covers after the move. Nothing is interpolated: shares of one new pixel add up to
one, so even grey stays even; shares of one old pixel add up to the change of
area, so ink is kept; a whole move or a quarter turn copies bytes; shrinking
averages over all that falls into a pixel, so thin strokes do not drop out. For a
move of a fraction of a pixel this is the same as linear interpolation.

Weights are whole multiples of 2**-16 (2**-20 where rows and columns are worked
one after the other in float64). A product with an 8-bit pixel and every partial
sum stays under 2**24 (2**53), so sums are exact: no order of summation, thread
count or library version changes a byte. Halves are rounded to even: rounded up, the
many halves of a move by half a px would add 0.16 % of ink on the open digits.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from gen.glyphs.area import ONE_A_SIDE, line_shares
from gen.glyphs.base import Pixels, Real
from gen.render.affine import (
    determinant,
    inside_share,
    inverse_affine,
    is_upright,
    mapped,
    pixel_centres,
)
from gen.render.major import PixelMajor

if TYPE_CHECKING:
    from scipy.sparse import csr_matrix

ONE = 1 << 16
_UPRIGHT_CHUNK, _TURNED_CHUNK = 64, 1
"""Glyphs with maps of their own that are worked on at a time: what fits into cache."""
_PIXELS = 1024
"""New pixels of a shared map that are worked on at a time, for the same reason."""


def square_overlap(y: Real, x: Real) -> Real:
    """Area of a convex polygon inside the unit square from (0, 0) to (1, 1).

    By Green's theorem it is the integral of y, held between 0 and 1, over dx
    along the boundary; on each edge that has a closed form.

    Parameters
    ----------
    y, x
        ndarrays of shape (..., corners): the corners in order round the polygon.

    Returns
    -------
    ndarray of shape (...)

    Examples
    --------
    A square of side 1 turned by 45 degrees about the origin: a quarter of it.

    >>> r = 0.5**0.5
    >>> float(square_overlap(np.array([r, 0, -r, 0]), np.array([0, r, 0, -r]))).__round__(12)
    0.25
    """
    corners = y.shape[-1]
    total = np.zeros(y.shape[:-1])
    # Added edge by edge, so that the sum is the same on every machine.
    for this in range(corners):
        following = (this + 1) % corners
        run = x[..., following] - x[..., this]
        slope = (y[..., following] - y[..., this]) / np.where(run == 0.0, 1.0, run)
        total += _edge_integral(y[..., this], x[..., this], x[..., following], slope)
    return np.abs(total)


def _edge_integral(y: Real, x: Real, to_x: Real, slope: Real) -> Real:
    """Integral over dx of y, held between 0 and 1, along an edge, between x = 0 and 1."""
    low, high = np.clip(x, 0.0, 1.0), np.clip(to_x, 0.0, 1.0)
    high -= low
    from_y = low - x
    from_y *= slope
    from_y += y
    rise = high * slope
    level = np.abs(rise) < 1e-9
    mean = _held_integral(from_y + rise) - _held_integral(from_y)
    mean = mean / np.where(level, 1.0, rise)
    return np.asarray(np.where(level, np.clip(from_y, 0.0, 1.0), mean) * high)


def _held_integral(y: Real) -> Real:
    """Integral from below of a value held between 0 and 1."""
    held = np.clip(y, 0.0, 1.0)
    past = np.maximum(y - 1.0, 0.0)
    held *= held
    held *= 0.5
    held += past
    return np.asarray(held)


def _shares(
    back: Real, y: Real, x: Real
) -> tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.int64]]:
    """Which old pixels some new ones take from, and how much.

    Parameters
    ----------
    back
        ndarray of shape (..., 2, 3): maps from new points to old.
    y, x
        ndarrays of shape (k,): the new pixels.

    Returns
    -------
    row, column, weight
        Of shape (..., k, candidates); pixels outside the frame are among them,
        and the weights of each new pixel add up to 2**16.
    """
    middle = [mapped(back, which, y, x) for which in (0, 1)]
    half = [0.5 * (np.abs(back[..., which, 0]) + np.abs(back[..., which, 1])) for which in (0, 1)]
    first = [np.floor(middle[which] - half[which][..., None] + 0.5) for which in (0, 1)]
    # A square that reaches `half` to each side touches at most this many pixels a side.
    count = [int(np.ceil(2 * float(half[which].max()) - 1e-9)) + 1 for which in (0, 1)]
    step_row, step_column = (steps.ravel() for steps in np.indices((count[0], count[1])))
    row, column = first[0][..., None] + step_row, first[1][..., None] + step_column
    # The middle of the new pixel as seen from the first corner of each old one.
    from_y, from_x = middle[0][..., None] - row + 0.5, middle[1][..., None] - column + 0.5
    corner = [
        [
            0.5 * (oy * back[..., which, 0] + ox * back[..., which, 1])[..., None, None]
            for oy, ox in ((-1, -1), (-1, 1), (1, 1), (1, -1), (-1, -1))
        ]
        for which in (0, 1)
    ]
    area = np.zeros(row.shape)
    for this in range(4):
        rise, run = (corner[which][this + 1] - corner[which][this] for which in (0, 1))
        slope = rise / np.where(run == 0.0, 1.0, run)
        area += _edge_integral(
            from_y + corner[0][this], from_x + corner[1][this], from_x + corner[1][this + 1], slope
        )
    whole = np.abs(determinant(back))
    weight = np.rint(np.abs(area) / whole[..., None, None] * ONE).astype(np.int64)
    # What rounding left over goes to the largest share, which it changes least.
    short = ONE - weight.sum(axis=-1)
    largest = weight.argmax(axis=-1)[..., None]
    np.put_along_axis(
        weight, largest, np.take_along_axis(weight, largest, axis=-1) + short[..., None], axis=-1
    )
    return row.astype(np.intp), column.astype(np.intp), weight


@dataclass(frozen=True)
class SharedMap:
    """A map that all glyphs share, as one sparse matrix over pixels.

    Attributes
    ----------
    matrix
        csr_matrix of shape (H*W, H*W), float32, whole numbers in steps of 2**-16.
    leaks
        ndarray, intp: the old pixels whose ink leaves the frame, in part or whole.
    leaked
        ndarray, float64: how much of each of those leaves, in whole steps of 2**-16.
    """

    matrix: csr_matrix
    leaks: NDArray[np.intp]
    leaked: Real

    @classmethod
    def of(cls, forward: Real, frame: tuple[int, int]) -> SharedMap:
        """Build it.

        Parameters
        ----------
        forward
            ndarray of shape (2, 3): where each point goes.
        frame
            (H, W) in px.
        """
        from scipy.sparse import csr_matrix

        height, width = frame
        back = inverse_affine(forward)
        y, x = pixel_centres(frame)
        weights, columns, counts = [], [], []
        for start in range(0, len(y), _PIXELS):
            part = slice(start, start + _PIXELS)
            row, column, weight = _shares(back, y[part], x[part])
            inside = (weight > 0) & (row >= 0) & (row < height) & (column >= 0) & (column < width)
            weights.append(weight[inside].astype(np.float32))
            columns.append((row * width + column)[inside].astype(np.int32))
            counts.append(inside.sum(axis=1))
        ends = np.concatenate([[0], np.cumsum(np.concatenate(counts))]).astype(np.int32)
        matrix = csr_matrix(
            (np.concatenate(weights), np.concatenate(columns), ends),
            shape=(height * width, height * width),
        )
        kept = inside_share(forward, frame)
        leaks = np.flatnonzero(kept < 1.0)
        return cls(matrix, leaks, np.rint((1.0 - kept[leaks]) * ONE) / ONE)

    def apply(self, source: PixelMajor) -> Pixels:
        """Move some glyphs; the result is (H*W, m), uint8, pixel after pixel too."""
        moved = np.asarray(self.matrix @ source.pixels, dtype=np.float32)
        moved *= np.float32(1.0 / ONE)
        return np.rint(moved, out=moved).astype(np.uint8)

    def lost(self, source: PixelMajor) -> Real:
        """The share of each glyph's ink that leaves the frame, (m,), float64."""
        inked = source.inked[self.leaks]
        if not inked.any():
            return np.zeros(source.pixels.shape[1])
        lost = self.leaked[inked] @ source.pixels[self.leaks[inked]].astype(np.float64)
        leaking = np.flatnonzero(lost)
        lost[leaking] /= source.pixels[:, leaking].sum(axis=0, dtype=np.float64)
        return np.asarray(lost, dtype=np.float64)


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
    upright = is_upright(forward)
    apply = _apply_upright if upright else _apply_turned
    chunk = _UPRIGHT_CHUNK if upright else _TURNED_CHUNK
    out = np.empty_like(images)
    for start in range(0, len(images), chunk):
        part = slice(start, start + chunk)
        out[part] = apply(inverse_affine(forward[part]), images[part])
    return out


def _apply_upright(back: Real, images: Pixels) -> Pixels:
    """Rows first, then columns: two small matrices a glyph."""
    down, across = (
        line_shares(back[:, which, which], back[:, which, 2], length, length)
        for which, length in enumerate(images.shape[1:])
    )
    moved = np.matmul(np.matmul(down, images.astype(np.float64)), across.transpose(0, 2, 1))
    moved *= 1.0 / ONE_A_SIDE / ONE_A_SIDE
    return np.asarray(np.rint(moved, out=moved), dtype=np.uint8)


def _apply_turned(back: Real, images: Pixels) -> Pixels:
    count, height, width = images.shape
    row, column, weight = _shares(back, *pixel_centres((height, width)))
    inside = (row >= 0) & (row < height) & (column >= 0) & (column < width)
    index = np.where(inside, row * width + column, 0).reshape(count, -1)
    seen = np.take_along_axis(images.reshape(count, -1), index, axis=1).reshape(weight.shape)
    total = (seen * np.where(inside, weight, 0)).sum(axis=-1)
    return np.asarray(np.rint(total / ONE), dtype=np.uint8).reshape(images.shape)
