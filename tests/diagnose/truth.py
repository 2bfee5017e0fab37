"""Marks whose true measures are known: written strokes, and lines drawn by other people's code."""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw
from scipy import ndimage
from skimage.draw import polygon

from gen.glyphs.base import Strokes
from gen.glyphs.strokes import write_strokes
from gen.render.coverage import draw

Pixels = NDArray[np.uint8]
Real = NDArray[np.float64]
SIDE, FINE = 28, 16
COUNT = 120
GIVEN = write_strokes(count=COUNT, seed=3).strokes(np.arange(COUNT))


@cache
def written(width_px: float) -> Pixels:
    """Built-in digits with a pen of one width."""
    pen = np.full_like(GIVEN.width_px, width_px)
    return draw(Strokes(GIVEN.segments, pen), (SIDE, SIDE))


@cache
def written_centroids(width_px: float) -> Real:
    """Their centres of ink from the frame's, (n, 2), drawn eight times as large, by scipy."""
    pen = np.full_like(GIVEN.width_px, 8 * width_px)
    large = draw(Strokes(8 * (GIVEN.segments + 0.5) - 0.5, pen), (8 * SIDE, 8 * SIDE))
    at = np.array([ndimage.center_of_mass(one.astype(float)) for one in large])
    return (at + 0.5) / 8 - SIDE / 2


@cache
def lines(width_px: float, count: int = COUNT) -> tuple[Pixels, Real, Real]:
    """Straight bars with square ends, covered areas by Pillow or scikit-image at 16 x 16.

    Returns pictures, centres from the frame's (n, 2), and directions in rad, anticlockwise
    from x.
    """
    rng = np.random.default_rng(int(10 * width_px))
    images, centres, angles = [], [], []
    for place in range(count):
        angle = rng.uniform(0, np.pi)
        along = np.array([-np.sin(angle), np.cos(angle)])
        across = np.array([along[1], -along[0]])
        centre = rng.uniform(-1, 1, 2)
        half = rng.uniform(6, 9)
        corners = [
            (centre + SIDE / 2 + a * half * along + b * width_px / 2 * across) * FINE
            for a, b in ((-1, -1), (1, -1), (1, 1), (-1, 1))
        ]
        images.append(_filled(np.array(corners), by_pillow=place % 2 == 0))
        centres.append(centre)
        angles.append(angle)
    return np.stack(images), np.array(centres), np.array(angles)


def _filled(corners: Real, *, by_pillow: bool) -> Pixels:
    """Pillow counts from the corner of the first pixel, scikit-image from its centre."""
    fine = np.zeros((SIDE * FINE, SIDE * FINE), np.uint8)
    if by_pillow:
        canvas = Image.fromarray(fine)
        ImageDraw.Draw(canvas).polygon([(x, y) for y, x in corners], fill=255)
        fine = np.asarray(canvas)
    else:
        rows, columns = polygon(corners[:, 0] - 0.5, corners[:, 1] - 0.5, fine.shape)
        fine[rows, columns] = 255
    mean = fine.reshape(SIDE, FINE, SIDE, FINE).mean(axis=(1, 3))
    return np.rint(mean).astype(np.uint8)


def softened(images: Pixels, sigma_px: float) -> Pixels:
    """Blurred by scipy's sampled Gaussian, bare paper round the frame."""
    soft = ndimage.gaussian_filter(
        images.astype(float), (0, sigma_px, sigma_px), mode="constant", truncate=6
    )
    return np.rint(soft).astype(np.uint8)
