"""The frames of the boxes on a flattened page: where they are, and whether they can be seen."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gen.glyphs.base import Real
from gen.glyphs.paper.layout import BOX_MM, FRAME_MM, Box

_REACH_MM = 0.75
"""How far from its place a side is looked for: the next frame begins at 1.6 mm."""
_LEAST_SHARE = 0.4
"""Of the darkness that sides have on this page, which a side must have at least: a soft photograph
shows them all faintly, and a sharp one none so."""
_LEAST_DARKNESS, _MOST_DARKNESS = 0.015, 0.04
"""Bounds of that, as shares of the paper's light. Noise gives medians of 0.01."""


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
    lines = [
        _line(picture, px_mm, place, near[:, 1 - axis])
        for axis, picture in ((0, turned), (1, darkness))
        for place in (near[:, axis], far[:, axis])
    ]
    offs, highs = np.array([off for off, _ in lines]), np.array([high for _, high in lines])
    usual = _LEAST_SHARE * float(np.median(highs))
    found = highs > np.clip(usual, _LEAST_DARKNESS, _MOST_DARKNESS)
    left, right, top, bottom = np.where(found, offs, np.nan)
    off = np.stack([_middle(left, right), _middle(top, bottom)], axis=-1)
    return Frames(off, found.sum(axis=0))


def _line(
    picture: NDArray[np.float32], px_mm: float, place_mm: Real, along_mm: Real
) -> tuple[Real, Real]:
    """How far lines along the rows of a picture are from their places, mm, and how dark."""
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
    return (first + middle - row) / px_mm, np.where(inside, high[:, 0], 0.0)


def _middle(one: Real, other: Real) -> Real:
    """The mean of two, or the one that is there."""
    both = (one + other) / 2
    return np.where(np.isnan(both), np.where(np.isnan(one), other, one), both)
