"""The frames of the boxes on a flattened page: where they are, and whether they can be seen."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gen.glyphs.base import Real
from gen.glyphs.paper.layout import BOX_MM, FRAME_MM, Box

_REACH_MM = 0.75
"""How far from its place a side is looked for: the next frame begins at 1.6 mm."""
_LEAST_DARKNESS = 0.04
"""Of a side over the paper beside it, as a share of its light."""


@dataclass(frozen=True)
class Frames:
    """What was found of each box.

    Attributes
    ----------
    off_mm
        ndarray of shape (n, 2), float64: how far a frame is from its place, (x, y); nan
        where neither of its two sides was found.
    sides
        ndarray of shape (n,), intp: how many of its four sides were found.
    """

    off_mm: Real
    sides: NDArray[np.intp]


def find_frames(darkness: NDArray[np.float32], px_mm: float, boxes: tuple[Box, ...]) -> Frames:
    """Find the sides of the frame of each box.

    A side is the darkest line, along the middle four fifths of where it should be, of
    the medians across; what is written over a part of it doesn't move a median.

    Parameters
    ----------
    darkness
        ndarray of shape (H, W), float32: of a flattened page, 0 for paper and 1 for black.
    px_mm
        Pixels to a mm in it.
    boxes
        The boxes of the page.
    """
    corner = np.array([(box.x_mm, box.y_mm) for box in boxes])
    near, far = corner - FRAME_MM, corner + BOX_MM + FRAME_MM
    turned = np.ascontiguousarray(darkness.T)
    offs, found = [], []
    for axis, picture in ((0, turned), (1, darkness)):
        along = near[:, 1 - axis]
        for place in (near[:, axis], far[:, axis]):
            off, seen = _line(picture, px_mm, place, along)
            offs.append(np.where(seen, off, np.nan))
            found.append(seen)
    left, right, top, bottom = offs
    off = np.stack([_middle(left, right), _middle(top, bottom)], axis=-1)
    return Frames(off, np.sum(found, axis=0))


def _line(
    picture: NDArray[np.float32], px_mm: float, place_mm: Real, along_mm: Real
) -> tuple[Real, NDArray[np.bool_]]:
    """How far lines along the rows of a picture are from where they should be, mm."""
    long = BOX_MM + 2 * FRAME_MM
    reach = round(_REACH_MM * px_mm)
    row = place_mm * px_mm - 0.5
    first = np.round(row).astype(int)
    start = np.round((along_mm + 0.1 * long) * px_mm).astype(int)
    rows = first[:, None] + np.arange(-reach, reach + 1)
    columns = start[:, None] + np.arange(round(0.8 * long * px_mm))
    rows = np.clip(rows, 0, picture.shape[0] - 1)
    columns = np.clip(columns, 0, picture.shape[1] - 1)
    profile = np.median(picture[rows[:, :, None], columns[:, None, :]], axis=2)
    paper = np.median(profile, axis=1, keepdims=True)
    peak = profile.argmax(axis=1)
    high = np.take_along_axis(profile, peak[:, None], 1) - paper
    # The middle of what stands out by more than a half, near the peak.
    offsets = np.arange(-reach, reach + 1)
    near = np.abs(offsets[None] - offsets[peak][:, None]) <= max(2, 0.35 * px_mm)
    weight = np.where(near, np.maximum(profile - paper - 0.3 * high, 0), 0)
    total = np.maximum(weight.sum(axis=1), 1e-9)
    middle = (weight * offsets).sum(axis=1) / total
    inside = (peak > 0) & (peak < 2 * reach)
    seen = (high[:, 0] > _LEAST_DARKNESS) & inside
    return (first + middle - row) / px_mm, seen


def _middle(one: Real, other: Real) -> Real:
    """The mean of two, or the one that is there."""
    both = (one + other) / 2
    return np.where(np.isnan(both), np.where(np.isnan(one), other, one), both)
