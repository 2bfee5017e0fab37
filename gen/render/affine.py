"""Affine maps of the plane: turning them round, composing them, following pixels."""

from __future__ import annotations

import numpy as np

from gen.glyphs.base import Real


def inverse_affine(forward: Real) -> Real:
    """The map back, of shape (..., 2, 3), by plain element-wise arithmetic."""
    a, b, c, d = forward[..., 0, 0], forward[..., 0, 1], forward[..., 1, 0], forward[..., 1, 1]
    e, f = forward[..., 0, 2], forward[..., 1, 2]
    det = determinant(forward)
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


def determinant(forward: Real) -> Real:
    """By how much the map enlarges areas, (...), negative when it mirrors."""
    return np.asarray(
        forward[..., 0, 0] * forward[..., 1, 1] - forward[..., 0, 1] * forward[..., 1, 0]
    )


def is_upright(forward: Real) -> bool:
    """Whether rows stay rows and columns stay columns: a move and a change of size."""
    return not (forward[..., 0, 1].any() or forward[..., 1, 0].any())


def mapped(forward: Real, which: int, y: Real, x: Real) -> Real:
    """One coordinate (0: y, 1: x) of points (k,) under maps (..., 2, 3): (..., k)."""
    p, q, r = (forward[..., which, column, None] for column in (0, 1, 2))
    return np.asarray(p * y + q * x + r)


def pixel_centres(frame: tuple[int, int]) -> tuple[Real, Real]:
    """y and x of every pixel of a frame, row after row, (H*W,) each."""
    height, width = frame
    return (
        np.repeat(np.arange(height, dtype=float), width),
        np.tile(np.arange(width, dtype=float), height),
    )


def inside_share(forward: Real, frame: tuple[int, int]) -> Real:
    """How much of each pixel's ink is still in the frame after a move.

    A pixel is followed as a square of the new size, upright: exact for moves and
    changes of size, right at the border to within a fraction of a pixel for turns.

    Returns
    -------
    ndarray of shape (..., H*W), float64, between 0 and 1.
    """
    y, x = pixel_centres(frame)
    size = np.sqrt(np.abs(determinant(forward)))[..., None]
    share = np.ones((*forward.shape[:-2], len(y)))
    for which, length in enumerate(frame):
        at = mapped(forward, which, y, x)
        low = np.maximum(at - size / 2, -0.5)
        high = np.minimum(at + size / 2, length - 0.5)
        share *= np.clip((high - low) / size, 0.0, 1.0)
    return share
