"""Pictures made comparable: centred by their ink, softened, of one length."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from gen.diagnose.paper import levels
from gen.glyphs.base import Pixels

SIDE = 20
Features = NDArray[np.float32]


def features(images: Pixels) -> Features:
    """One unit vector a picture, which tells its shape and neither its place nor its size.

    Marks are fitted to one size by the spread of their ink, centred, and softened.

    Parameters
    ----------
    images
        ndarray of shape (n, H, W), uint8, ink bright.

    Returns
    -------
    ndarray of shape (n, SIDE, SIDE), float32; of zero mean and length 1.
    """
    seen = levels(images)
    rise = np.where(seen.ink, seen.rise, seen.rise * 0.25)
    rise = np.maximum(rise, 0)
    count, height, width = rise.shape
    total = np.maximum(rise.sum(axis=(1, 2)), 1e-6)
    centre, spread = [], []
    for side, line in ((height, rise.sum(axis=2)), (width, rise.sum(axis=1))):
        at = np.arange(side, dtype=np.float32)
        middle = line @ at / total
        centre.append(middle)
        spread.append((line * (at[None, :] - middle[:, None]) ** 2).sum(axis=1) / total)
    # One scale for both axes, so that shapes aren't stretched: 2.2 deviations fill the half.
    step = 2.2 * np.sqrt(np.maximum(np.maximum(*spread), 0.5)) / (SIDE / 2)
    place = np.arange(SIDE, dtype=np.float32) - (SIDE - 1) / 2
    out = np.empty((count, SIDE, SIDE), np.float32)
    down = _tents(centre[0][:, None] + step[:, None] * place, height, step)
    right = _tents(centre[1][:, None] + step[:, None] * place, width, step)
    np.matmul(np.matmul(down, rise), right.swapaxes(1, 2), out=out)
    out -= out.mean(axis=(1, 2), keepdims=True)
    size = np.sqrt((out * out).sum(axis=(1, 2), keepdims=True))
    return np.asarray(out / np.where(size > 0, size, 1), dtype=np.float32)


def _tents(at: Features, side: int, step: Features) -> Features:
    """Weights (n, SIDE, side) that take a softened value at each place."""
    reach = np.maximum(1.3 * step, 1.0)[:, None, None]
    far = np.abs(at[:, :, None] - np.arange(side, dtype=np.float32)) / reach
    return np.asarray(np.maximum(1 - far, 0), dtype=np.float32)
