"""Breaks in the strokes of pictures: ink is taken away in places along it.

A picture doesn't say where its strokes run, so places are drawn among its ink, each pixel
in proportion to its ink, as many as the strokes are long in gaps. Every pixel belongs to
the place that is nearest, which cuts strokes across. Places go bare in the order drawn,
until the share asked for of the ink is gone; the last of them fades only as far as that
needs. The same places go bare at every level, and what is bare stays so above it.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from gen.core.draws import uniforms
from gen.glyphs.base import Pixels, Real, Whole
from gen.glyphs.width import stroke_width_px
from gen.perturb.base import DryPen

_MOST_PLACES = 256
AT_ONCE = 128


def dry_picture(images: Pixels, pen: DryPen, *, seed: int, indices: Whole) -> Pixels:
    """Pictures with a share of their ink taken away.

    Parameters
    ----------
    images
        ndarray of shape (n, H, W), uint8.
    pen
        Share, and length of the gaps along the stroke, on average.
    seed
        The recipe's.
    indices
        ndarray of shape (n,): which glyphs these are.

    Returns
    -------
    ndarray of shape (n, H, W), uint8

    Examples
    --------
    >>> bar = np.zeros((1, 9, 40), np.uint8)
    >>> bar[0, 3:6] = 255
    >>> dry = dry_picture(bar, DryPen(0.25, gap_px=3.0), seed=1, indices=np.array([0]))
    >>> f"{dry.sum() / bar.sum():.2f}"
    '0.75'
    """
    if pen.share <= 0:
        return images
    out = np.empty_like(images)
    for start in range(0, len(images), AT_ONCE):
        here = slice(start, start + AT_ONCE)
        out[here] = _dry_block(images[here], pen, seed, indices[here])
    return out


def _dry_block(images: Pixels, pen: DryPen, seed: int, indices: Whole) -> Pixels:
    count, _, width = images.shape
    flat = images.reshape(count, -1)
    reached = np.cumsum(flat, axis=1, dtype=np.int64)
    ink = reached[:, -1]
    long = ink / 255.0 / np.maximum(stroke_width_px(images), 1.0)
    places = np.clip(np.rint(long / pen.gap_px), 1, _MOST_PLACES).astype(np.intp)
    most = int(places.max())
    drawn = np.floor(uniforms(seed, "dry-pen", indices, count=most) * ink[:, None])
    pixel = np.stack(
        [
            np.searchsorted(line, target, side="right")
            for line, target in zip(reached, drawn, strict=True)
        ]
    )
    owner = _nearest(np.minimum(pixel, flat.shape[1] - 1), places, flat.shape[1], width)
    held = np.zeros((count, most), np.int64)
    np.add.at(held, (np.arange(count)[:, None], owner), flat)
    gone = _share_gone(held, np.asarray(pen.share * ink, dtype=np.float64))
    left = flat * (1.0 - np.take_along_axis(gone, owner, axis=1))
    return np.asarray(np.floor(left + 0.5), dtype=np.uint8).reshape(images.shape)


def _nearest(pixel: Whole, places: Whole, pixels: int, width: int) -> Whole:
    """For each pixel the number of the place nearest to it; of equals the first drawn."""
    at = np.arange(pixels)
    row, column = at // width, at % width
    best = np.full((len(pixel), pixels), np.iinfo(np.int64).max)
    owner = np.zeros((len(pixel), pixels), np.intp)
    for number in range(pixel.shape[1]):
        down = row - pixel[:, number, None] // width
        across = column - pixel[:, number, None] % width
        far = down * down + across * across
        nearer = (far < best) & (number < places)[:, None]
        best = np.where(nearer, far, best)
        owner[nearer] = number
    return owner


def _share_gone(held: NDArray[np.int64], target: Real) -> Real:
    """How much of the ink of each place goes, in the order drawn, for `target` in all."""
    before = np.cumsum(held, axis=1) - held
    gone = (target[:, None] - before) / np.maximum(held, 1)
    return np.asarray(np.clip(gone, 0.0, 1.0), dtype=np.float64)
