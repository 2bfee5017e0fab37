"""What can be read off the frame's edge and off the values alone."""

from __future__ import annotations

import numpy as np

from gen.diagnose.paper import Levels, Mask
from gen.glyphs.base import Pixels, Real

_FEWEST_LEVELS = 32
"""Grey levels between darkest and brightest that a picture needs to show its polarity."""


def ring(height: int, width: int) -> Mask:
    """The outermost pixels of a frame, ndarray of shape (H, W), bool."""
    out = np.ones((height, width), np.bool_)
    out[1:-1, 1:-1] = False
    return out


def border_like_ink(images: Pixels) -> Real:
    """Share of each picture's outermost pixels that are nearer to its brightest than its darkest.

    Near 0 where ink is bright on dark paper, near 1 where it looks inverted.
    """
    count, height, width = images.shape
    flat = images.reshape(count, -1)
    low, high = flat.min(axis=1).astype(np.int16), flat.max(axis=1).astype(np.int16)
    edge = images[:, ring(height, width)]
    share = (2 * edge.astype(np.int16) > (low + high)[:, None]).mean(axis=1)
    return np.where(high - low >= _FEWEST_LEVELS, share, np.nan)


def touching_border(seen: Levels, marks: Mask) -> Real:
    """Share of each mark's ink that lies in the outermost pixels of the frame."""
    _, height, width = marks.shape
    ink = seen.rise * marks
    total = ink.sum(axis=(1, 2), dtype=np.float64)
    edge = ink[:, ring(height, width)].sum(axis=1, dtype=np.float64)
    return np.where(total > 0, edge / np.where(total > 0, total, 1.0), np.nan)


def grey_levels(images: Pixels) -> Real:
    """How many different values each picture uses."""
    ordered = np.sort(images.reshape(len(images), -1), axis=1)
    return np.asarray(1.0 + (ordered[:, 1:] != ordered[:, :-1]).sum(axis=1), dtype=np.float64)
