"""How much light the bare paper gives back, everywhere on a page, so that it can be divided out."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from gen.glyphs.base import Pixels

Shade = NDArray[np.float32]

WIDEST_MM = 9.5
"""What is dark and narrower than this is print or ink, what is wider is shade. Markers have
8.4 mm, strokes much less; a shadow's edge is followed as closely as this allows."""
PX_MM = 2.0
"""Of the field of light."""


def paper_light(page: Pixels, px_mm: float) -> Shade:
    """The grey that bare paper has, of a flattened page.

    A morphological closing of the page, reduced to 2 px a mm by area, which fills all
    that is dark and narrow, and then a Gaussian blur, sigma 2 mm.

    Parameters
    ----------
    page
        ndarray of shape (H, W), uint8.
    px_mm
        Pixels to a mm in it.

    Returns
    -------
    ndarray of shape (H * 2 / px_mm, W * 2 / px_mm), float32, at least 1.

    Examples
    --------
    >>> page = np.full((120, 120), 200, np.uint8)
    >>> page[50:56] = 30
    >>> round(float(paper_light(page, 4.0).min()), 3)
    200.0
    """
    import cv2

    size = (round(page.shape[1] * PX_MM / px_mm), round(page.shape[0] * PX_MM / px_mm))
    small = cv2.resize(page, size, interpolation=cv2.INTER_AREA).astype(np.float32)
    return light_without(small, round(WIDEST_MM * PX_MM), sigma_px=2.0 * PX_MM)


def light_without(grey: Shade, reach_px: int, *, sigma_px: float) -> Shade:
    """The grey of what lies round all that is dark and narrower than `reach_px`, smoothed.

    Examples
    --------
    >>> page = np.full((40, 40), 200, np.float32)
    >>> page[18:22] = 30
    >>> round(float(light_without(page, 9, sigma_px=2.0).min()), 3)
    200.0
    """
    import cv2

    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (reach_px, reach_px))
    closed = cv2.morphologyEx(grey, cv2.MORPH_CLOSE, disc)
    smooth = cv2.GaussianBlur(closed, (0, 0), sigma_px, borderType=cv2.BORDER_REPLICATE)
    return np.maximum(np.asarray(smooth, np.float32), np.float32(1.0))


def at_points(light: Shade, x_mm: Shade, y_mm: Shade) -> Shade:
    """The light at some points of the page, mm, between pixels as straight lines have it."""
    import cv2

    found = cv2.remap(
        light,
        np.asarray(x_mm * PX_MM - 0.5, np.float32),
        np.asarray(y_mm * PX_MM - 0.5, np.float32),
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REPLICATE,
    )
    return np.asarray(found, np.float32)
