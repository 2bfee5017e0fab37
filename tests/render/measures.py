"""Measuring rendered pixels with other people's code: scipy and scikit-image."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage
from skimage.measure import moments_central

Pixels = NDArray[np.uint8]
Real = NDArray[np.float64]


def centroids(images: Pixels) -> Real:
    """Centre of mass of each picture, (n, 2), by scipy.ndimage."""
    return np.array([ndimage.center_of_mass(image.astype(float)) for image in images])


def covariances(images: Pixels) -> Real:
    """Second central moments over ink, (n, 2, 2) in (y, x), by scikit-image."""
    found = []
    for image in images:
        mu = moments_central(image.astype(float), order=2)
        found.append(np.array([[mu[2, 0], mu[1, 1]], [mu[1, 1], mu[0, 2]]]) / mu[0, 0])
    return np.array(found)


def angles_deg(images: Pixels) -> Real:
    """Direction of the principal axis, anticlockwise from x, between -90 and 90 deg."""
    cov = covariances(images)
    return np.rad2deg(0.5 * np.arctan2(-2 * cov[:, 0, 1], cov[:, 1, 1] - cov[:, 0, 0]))


def sizes(images: Pixels) -> Real:
    """Root of the sum of the second moments of each picture."""
    return np.sqrt(np.trace(covariances(images), axis1=1, axis2=2))


def ink(images: Pixels) -> Real:
    """Ink of each picture in grey levels."""
    return images.reshape(len(images), -1).sum(axis=1, dtype=np.int64).astype(float)
