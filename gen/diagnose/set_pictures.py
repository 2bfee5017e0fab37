"""What a set looks like on average: mean, deviation, and the mean of each class."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gen.glyphs.base import Pixels, Real, Whole


@dataclass(frozen=True)
class SetPictures:
    """Mean pictures of a set.

    Attributes
    ----------
    mean, deviation
        ndarray of shape (H, W), float64, grey levels, over all glyphs.
    class_means
        ndarray of shape (classes, H, W), float64, grey levels; NaN for a class without
        glyphs.
    counts
        ndarray of shape (classes,), intp.
    """

    mean: Real
    deviation: Real
    class_means: Real
    counts: Whole


def set_pictures(images: Pixels, labels: Whole, classes: int) -> SetPictures:
    """Mean and deviation of all pictures, and the mean of each class.

    Parameters
    ----------
    images
        ndarray of shape (n, H, W), uint8.
    labels
        ndarray of shape (n,), below `classes`.
    classes
        How many classes there are.

    Examples
    --------
    >>> images = np.array([[[0, 10]], [[0, 30]], [[5, 5]]], np.uint8)
    >>> told = set_pictures(images, np.array([0, 0, 1]), 2)
    >>> told.class_means[0].tolist(), told.counts.tolist()
    ([[0.0, 20.0]], [2, 1])
    """
    counts = np.bincount(labels, minlength=classes)
    sums = np.zeros((classes, *images.shape[1:]))
    square = np.zeros(images.shape[1:])
    for label in np.unique(labels):
        chosen = np.flatnonzero(labels == label)
        for start in range(0, len(chosen), 4096):
            part = images[chosen[start : start + 4096]].astype(np.float64)
            sums[label] += part.sum(axis=0)
            square += (part * part).sum(axis=0)
    number = max(len(images), 1)
    mean = sums.sum(axis=0) / number
    deviation = np.sqrt(np.maximum(square / number - mean**2, 0))
    means = np.full_like(sums, np.nan)
    some = counts > 0
    means[some] = sums[some] / counts[some, None, None]
    return SetPictures(mean, deviation, means, counts)
