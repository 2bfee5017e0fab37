"""A square code that is too soft to be read as it is, sampled where its modules must lie.

Where the page lies is known to a tenth of a module, so nothing has to be searched: each
module is the mean of its middle, both copies of the code are averaged, what the lens has
smeared from one module into the next is taken off in a few strengths, and the rest is for
the code's own correction of errors. What comes out is held to a checksum of its own later,
so that trying often can't make a wrong line right.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from gen.glyphs.base import Pixels, Real
from gen.glyphs.paper.layout import CODE_MM, Plan
from gen.glyphs.paper.unwarp import Warp

SIZES = (21, 25, 29, 33, 37)
"""Modules along a side; ISO/IEC 18004, versions 1 to 5."""
_STRENGTHS = (0.0, 0.5, 1.0, 1.8)
_LIKE_A_CODE = 0.45
"""Correlation of the three corners with the pattern that every code has there."""


def code_by_modules(grey: Pixels, warp: Warp, plan: Plan) -> str | None:
    """The text of the code of a page, if any sampling of it can be read.

    Parameters
    ----------
    grey
        The photograph, ndarray of shape (H, W), uint8.
    warp
        From the sheet to the photograph.
    plan
        A plan that has the codes at the right places.
    """
    sizes = [
        [sampled(grey, warp, np.array(corner), size) for corner in plan.codes_mm] for size in SIZES
    ]
    grids = max(sizes, key=lambda each: max(map(_likeness, each)))
    # A copy that is covered looks unlike a code, and would spoil the other.
    likely = [grid for grid in grids if _likeness(grid) > _LIKE_A_CODE]
    for grid in [np.mean(likely, axis=0), *likely] if len(likely) > 1 else likely:
        for dark in _decided(grid):
            text = _decoded(dark)
            if text:
                return text
    return None


def sampled(grey: Pixels, warp: Warp, corner_mm: Real, size: int) -> Real:
    """Darkness of each module, -1 to 1: ndarray of shape (size, size), float64."""
    import cv2

    inside = np.array([0.3, 0.5, 0.7])
    at = ((np.arange(size)[:, None] + inside) * (CODE_MM / size)).ravel()
    grid = np.stack(np.meshgrid(at + corner_mm[0], at + corner_mm[1]), axis=-1)
    seen = warp.to_photo(grid).astype(np.float32)
    values = cv2.remap(grey, seen[..., 0], seen[..., 1], cv2.INTER_LINEAR).astype(np.float64)
    means = values.reshape(size, 3, size, 3).mean(axis=(1, 3))
    low, high = np.percentile(means, [4, 96])
    return np.asarray((high + low - 2 * means) / max(high - low, 1.0))


def _finder() -> Real:
    ring = np.ones((7, 7))
    ring[1:-1, 1:-1] = -1
    ring[2:-2, 2:-2] = 1
    return ring


def _likeness(grid: Real) -> float:
    """How like the corners are to those of a code."""
    corners = np.concatenate([grid[:7, :7].ravel(), grid[:7, -7:].ravel(), grid[-7:, :7].ravel()])
    return float(np.corrcoef(corners, np.tile(_finder().ravel(), 3))[0, 1])


def _decided(grid: Real) -> Iterator[NDArray[np.bool_]]:
    """Dark or light for each module, in several ways."""
    padded = np.pad(grid, 1, constant_values=-1)
    around = (padded[:-2, 1:-1] + padded[2:, 1:-1] + padded[1:-1, :-2] + padded[1:-1, 2:]) / 4
    for strength in _STRENGTHS:
        sharp = grid + strength * (grid - around)
        yield sharp > 0
        wide = np.pad(sharp, 3, mode="edge")
        windows = np.lib.stride_tricks.sliding_window_view(wide, (7, 7))
        yield sharp > (windows.max(axis=(2, 3)) + windows.min(axis=(2, 3))) / 2


def _decoded(dark: NDArray[np.bool_]) -> str | None:
    """The text of a clean code drawn from some modules."""
    import cv2

    clean = dark.copy()
    ring = _finder() > 0
    clean[:8, :8] = clean[:8, -8:] = clean[-8:, :8] = False
    clean[:7, :7] = clean[:7, -7:] = clean[-7:, :7] = ring
    drawn = np.kron(np.pad(clean, 4), np.ones((8, 8), bool))
    picture = np.where(drawn, 0, 255).astype(np.uint8)
    try:
        text = cv2.QRCodeDetector().detectAndDecode(picture)[0]
    except (cv2.error, UnicodeDecodeError):
        return None
    return str(text) or None
