"""What shows through from the back of the paper, and smudges: faint ink where no stroke is.

Most pages have none, and nothing is done to them. One has when over half a per cent of all
its ink is fainter than 40 % of what the pen leaves in its box, and farther than 0.3 mm from
anything that isn't. What the pen leaves is the upper quartile of a box's ink. All such ink is
then left out, in every box; the pen of a box then counts for no less than 85 % of the page's,
or a box in which nobody wrote would have one of its own.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from gen.glyphs.base import Pixels

_SHARE, _REACH_MM, _OF_PAGE = 0.4, 0.3, 0.85
_MOST = 0.005  # of pages without any, the worst of twelve had 0.0018


def without_back(
    ink: Pixels, inner: slice, px_mm: float, seen: NDArray[np.bool_], *, least: int
) -> float:
    """Set to 0, in place, what shows through; the share of ink that this was, 0 for nothing done.

    Parameters
    ----------
    ink
        ndarray of shape (boxes, H, H), uint8: boxes with their margins.
    inner
        Where the writing area is, along either side.
    px_mm
        Pixels to a mm.
    seen
        Which boxes lie open.
    least
        Ink that is more than noise.
    """
    written = ink[:, inner, inner]
    pens = np.array([_upper(box[box >= least]) for box in written])
    whole = _upper(written[seen][written[seen] >= least])
    if whole == 0:
        return 0.0
    total = int(written[seen].sum(dtype=np.int64))
    # Whether there is a back is told by what is fainter than the pen of its own box, or a box
    # that was written with a lighter pen than the others would be one.
    far = _far(ink, _SHARE * pens, seen, px_mm)
    if int(written[far[:, inner, inner]].sum(dtype=np.int64)) <= _MOST * total:
        return 0.0
    far = _far(ink, _SHARE * np.maximum(pens, _OF_PAGE * whole), seen, px_mm)
    share = int(written[far[:, inner, inner]].sum(dtype=np.int64)) / total
    ink[far] = 0
    return share


def _far(
    ink: Pixels, strong: NDArray[np.float64], seen: NDArray[np.bool_], px_mm: float
) -> NDArray[np.bool_]:
    """Ink that has nothing as strong as its box asks for within reach."""
    import cv2

    reach = round(_REACH_MM * px_mm)
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * reach + 1, 2 * reach + 1))
    far = np.zeros(ink.shape, bool)
    for index in np.flatnonzero(seen):
        near = cv2.dilate((ink[index] >= max(strong[index], 1.0)).astype(np.uint8), disc)
        far[index] = (near == 0) & (ink[index] > 0)
    return far


def _upper(values: Pixels) -> float:
    """The upper quartile; 0 of nothing."""
    return float(np.percentile(values, 75)) if len(values) else 0.0
