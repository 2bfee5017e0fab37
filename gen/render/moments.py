"""First and second moments of ink, from whole-number sums."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gen.glyphs.base import Pixels, Real


@dataclass(frozen=True)
class Moments:
    """Ink of some pictures and how it is spread.

    Attributes
    ----------
    ink
        ndarray of shape (n,), float64: sum of grey levels.
    centroid
        ndarray of shape (n, 2), float64: (y, x) in px.
    covariance
        ndarray of shape (n, 2, 2), float64: second central moments over ink, px^2.
    """

    ink: Real
    centroid: Real
    covariance: Real


def moments(images: Pixels) -> Moments:
    """Moments of each picture; of one without ink everything is zero.

    Parameters
    ----------
    images
        ndarray of shape (n, H, W), uint8.

    Examples
    --------
    >>> bar = np.zeros((1, 5, 6), np.uint8)
    >>> bar[0, 2, 1:5] = 255
    >>> seen = moments(bar)
    >>> seen.centroid.tolist(), seen.covariance[0].tolist()
    ([[2.0, 2.5]], [[0.0, 0.0], [0.0, 1.25]])
    """
    _, height, width = images.shape
    rows = images.sum(axis=2, dtype=np.int64)
    columns = images.sum(axis=1, dtype=np.int64)
    ink = rows.sum(axis=1)
    safe = np.maximum(ink, 1).astype(float)
    y, x = np.arange(height), np.arange(width)
    mean_y, mean_x = (rows * y).sum(axis=1) / safe, (columns * x).sum(axis=1) / safe
    products = (images.astype(np.int64) * (y[:, None] * x)).sum(axis=(1, 2))
    cov_yx = products / safe - mean_y * mean_x
    cov_yy = (rows * y * y).sum(axis=1) / safe - mean_y * mean_y
    cov_xx = (columns * x * x).sum(axis=1) / safe - mean_x * mean_x
    covariance = np.stack([np.stack([cov_yy, cov_yx], -1), np.stack([cov_yx, cov_xx], -1)], -2)
    return Moments(ink.astype(float), np.stack([mean_y, mean_x], -1), covariance)
