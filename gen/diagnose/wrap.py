"""Rows that wrap: pictures read a few bytes off, or with rows of another length.

A reader that starts some bytes early rolls each picture as one long row: what leaves on
the right comes in on the left, one row on. Ink then goes on across the seam.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gen.diagnose.paper import Single
from gen.glyphs.base import Pixels, Real

_SEAM_INK = 0.05
"""Ink in the columns at the seam, as a share of the mean column's, under which none wraps."""
_SEAM_TIE = 0.3
"""Correlation across the seam from which ink goes on there: ink that merely touches both
sides of the frame is unrelated row by row."""
_EMPTIED = 0.35
"""Unwrapped, the frame's sides must hold less than this share of the ink they held."""
_SHEARS = range(-4, 5)
_SMOOTHER = 0.9
_AT_SIDES = 0.3
"""Ink in the outermost columns, as a share of the mean column's, that sheared rows leave."""


@dataclass(frozen=True)
class Wrap:
    """Evidence that rows wrap.

    Attributes
    ----------
    early_bytes
        How far each picture is rolled as one long row: it was read so many bytes early.
        0 when rows don't wrap.
    seam_ink
        Mean ink at the frame's left and right edge, the lesser, over that of a mean column.
    seam_tie
        Correlation of pixels that lie next to each other across the seam.
    left_over
        Ink at the sides after unrolling, as a share of what it is now.
    """

    early_bytes: int
    seam_ink: float
    seam_tie: float
    left_over: float

    @property
    def found(self) -> bool:
        """Whether rows wrap."""
        return self.early_bytes != 0


def row_wrap(images: Pixels, like: Real | None = None) -> Wrap:
    """Look for rows that wrap, and for how many bytes would put them right.

    Parameters
    ----------
    images
        ndarray of shape (n, H, W), uint8, ink bright.
    like
        ndarray of shape (H, W): mean picture of a set that is right, which the unrolled
        pictures should resemble; when left out, their ink should be in the middle.

    Examples
    --------
    >>> marks = np.zeros((3, 12, 12), np.uint8)
    >>> marks[:, 2:10, 4:8] = 200
    >>> rolled = np.roll(marks.reshape(3, -1), 6, axis=1).reshape(marks.shape)
    >>> row_wrap(marks).early_bytes, row_wrap(rolled).early_bytes
    (0, 6)
    """
    width = images.shape[2]
    rise = images.astype(np.float32)
    rise -= np.percentile(rise.reshape(len(rise), -1), 20, axis=1)[:, None, None].astype("f4")
    mean = np.maximum(rise, 0).mean(axis=0).astype(np.float64)
    column = mean.mean(axis=0)
    seam_ink = float(min(column[0], column[-1]) / max(column.mean(), 1e-9))
    tie = _tie(rise[:, :-1, -1], rise[:, 1:, 0])
    # Ink at the sides for every roll at once: the sides are two columns of the long row.
    flat = mean.ravel()
    sides = np.zeros_like(mean)
    sides[:, [0, -1]] = 1
    at_sides = np.fft.irfft(np.fft.rfft(flat) * np.conj(np.fft.rfft(sides.ravel())), flat.size)
    now = max(float(at_sides[0]), 1e-9)
    # Rolled by up to a row and a half either way; more is a move down, which shows no seam.
    reach = min(flat.size // 2, width + width // 2)
    rolls = np.arange(-reach, reach + 1)
    left = at_sides[rolls % flat.size] / now
    allowed = rolls[left <= max(_EMPTIED, float(left.min()) + 0.02)]
    if seam_ink < _SEAM_INK or tie < _SEAM_TIE or float(left.min()) > _EMPTIED:
        return Wrap(0, seam_ink, tie, float(left.min()))
    unlike = [_unlike(np.roll(flat, -roll).reshape(mean.shape), like) for roll in allowed]
    best = int(allowed[int(np.argmin(unlike))])
    return Wrap(best, seam_ink, tie, float(at_sides[best % flat.size] / now))


def sheared_rows(images: Pixels) -> tuple[int, float]:
    """By how many px each row lies further on than the one above, as wrong row lengths do.

    Returns
    -------
    tuple
        The shear in px a row, 0 when rows lie as they should; and how much rows differ
        from the next at that shear, as a share of how much they do as they are.

    Examples
    --------
    >>> bar = np.zeros((1, 12, 12), np.uint8)
    >>> bar[0, :, 5:7] = 255
    >>> skewed = np.stack([np.roll(row, 2 * y) for y, row in enumerate(bar[0])])[None]
    >>> sheared_rows(bar)[0], sheared_rows(skewed)[0]
    (0, 2)
    """
    values = images.astype(np.int16)
    upper, lower = values[:, :-1], values[:, 1:]
    differ = {
        shear: float(np.abs(np.roll(lower, -shear, axis=2) - upper).mean()) for shear in _SHEARS
    }
    best = min(differ, key=lambda shear: (differ[shear], abs(shear)))
    ratio = differ[best] / max(differ[0], 1e-9)
    if not best or ratio >= _SMOOTHER:
        return 0, ratio
    # Rows that run on leave ink at the sides, which goes when they are laid right. A mark
    # that leans leaves none, or would leave as much.
    now = min(_at_sides(images))
    then = min(max(_at_sides(way(images, best))) for way in (unsheared, relaid))
    return (best, ratio) if now > _AT_SIDES and then < _EMPTIED * now else (0, ratio)


def _at_sides(images: Pixels) -> tuple[float, float]:
    """Ink in the two outermost columns, as shares of the mean column's."""
    paper = np.median(images, axis=(1, 2))[:, None, None]
    column = np.abs(images - paper).mean(axis=(0, 1))
    left, right = column[[0, -1]] / max(float(column.mean()), 1e-9)
    return float(left), float(right)


def relaid(images: Pixels, longer_px: int) -> Pixels:
    """Pictures whose bytes lie in rows so many px longer, or shorter; what is over is cut off."""
    _, height, width = images.shape
    flat = images.reshape(len(images), -1)
    stored = width + longer_px
    at = stored * np.arange(height)[:, None] + np.arange(width)
    there = (at < flat.shape[1]) & (np.arange(width) < stored)
    return np.where(there, flat[:, np.minimum(at, flat.shape[1] - 1)], np.uint8(0))


def unsheared(images: Pixels, shear_px: int) -> Pixels:
    """Pictures whose rows lie straight again; what had wrapped wraps back."""
    rows = [np.roll(images[:, y], -shear_px * y, axis=1) for y in range(images.shape[1])]
    return np.stack(rows, axis=1)


def _unlike(mean: Real, like: Real | None) -> float:
    """How far a mean picture is from what it should be."""
    if like is not None and like.shape == mean.shape:
        a, b = mean - mean.mean(), like - like.mean()
        return -float((a * b).sum() / max(float(np.sqrt((a * a).sum() * (b * b).sum())), 1e-9))
    total = max(float(mean.sum()), 1e-9)
    y, x = (np.arange(side) - (side - 1) / 2 for side in mean.shape)
    return float((mean.sum(axis=1) @ y / total) ** 2 + (mean.sum(axis=0) @ x / total) ** 2)


def _tie(first: Single, second: Single) -> float:
    """Correlation of paired pixels, over all rows and pictures."""
    a, b = first.ravel() - first.mean(), second.ravel() - second.mean()
    size = float(np.sqrt((a.astype(float) ** 2).sum() * (b.astype(float) ** 2).sum()))
    return float((a.astype(float) * b).sum() / size) if size > 0 else 0.0
