"""Where the ink is: first moments and boxes, by whole-number sums."""

from __future__ import annotations

import numpy as np

from gen.glyphs.base import Pixels, Strokes
from gen.perturb.base import Marks


def picture_marks(images: Pixels) -> Marks:
    """Centroid and box of the ink of each picture.

    Parameters
    ----------
    images
        ndarray of shape (n, H, W), uint8. Any pixel over 0 is inked.

    Returns
    -------
    Marks
        A picture without ink gets the frame's centre and an empty box there.

    Examples
    --------
    >>> dot = np.zeros((1, 8, 8), np.uint8)
    >>> dot[0, 3, 5] = 7
    >>> marks = picture_marks(dot)
    >>> marks.centroid.tolist(), marks.box.tolist()
    ([[3.0, 5.0]], [[2.5, 4.5, 3.5, 5.5]])
    """
    _, height, width = images.shape
    rows = images.sum(axis=2, dtype=np.int64)
    columns = images.sum(axis=1, dtype=np.int64)
    ink = rows.sum(axis=1)
    bare = ink == 0
    safe = np.where(bare, 1, ink)
    centre = ((height - 1) / 2, (width - 1) / 2)
    centroid = np.stack(
        [
            np.where(bare, centre[0], (rows * np.arange(height)).sum(axis=1) / safe),
            np.where(bare, centre[1], (columns * np.arange(width)).sum(axis=1) / safe),
        ],
        axis=1,
    )
    box = np.empty((len(images), 4))
    for side, lines, length in ((0, rows, height), (1, columns, width)):
        inked = lines > 0
        box[:, side] = np.where(bare, centre[side], inked.argmax(axis=1) - 0.5)
        box[:, side + 2] = np.where(
            bare, centre[side], length - 0.5 - inked[:, ::-1].argmax(axis=1)
        )
    return Marks(centroid, box)


def stroke_marks(strokes: Strokes, images: Pixels) -> Marks:
    """Centroid from the drawn picture, box from the strokes themselves with their pen."""
    half = (0.5 * strokes.width_px)[..., None]
    top_left = (strokes.segments.min(axis=2) - half).min(axis=1)
    bottom_right = (strokes.segments.max(axis=2) + half).max(axis=1)
    return Marks(picture_marks(images).centroid, np.concatenate([top_left, bottom_right], axis=1))
