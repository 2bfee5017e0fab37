"""Paper and ink of each picture: how grey, how even, how noisy, and where half way is.

Shapes are read off where a picture passes half way between its paper and its ink, so
grey paper, a shadow across it, specks or faint ink don't move them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gen.glyphs.base import Pixels, Real

Single = NDArray[np.float32]
Mask = NDArray[np.bool_]

_PAPER_SHARE = 20
"""Percentile of a frame's pixels that is surely paper: marks cover less than the rest."""
_INK_SHARE = 0.8
"""Of the pixels over half way, the one that stands for full ink: thin strokes have few."""
_LEAST_CONTRAST = 8.0
"""Grey levels between paper and ink under which there is no mark to be seen."""
_ROOM_PX = 2
"""Pixels this near to ink aren't counted as paper: they hold its soft edge."""
_FEWEST_PAPER = 12
"""Pixels of bare paper that are needed to fit a plane."""
_NORMAL = 1.1180339887498949
"""Deviation of a pixel less the mean of its four neighbours, for noise of deviation 1."""
_CLIPPED = 0.3
"""Share of paper pixels at 0 from which noise is taken to have been cut off below."""
_CLIPPED_SCALE = 0.575
"""The same deviation, read at the same quantile, when noise below paper is cut off: drawn
from 4 million normal numbers, cut at 0 and rounded, 0.575 of theirs."""
_EXPECTILE, _EXPECTILE_STEPS = 0.05, 8
_LOWEST, _TWO_SIGMA = 0.02, 2.054
"""A share of normal noise, and how many deviations below its mean that share lies."""
_ONE_SIGMA = 0.6826894921370859


@dataclass(frozen=True)
class Levels:
    """What each picture's paper and ink are like.

    Attributes
    ----------
    rise
        ndarray of shape (n, H, W), float32: grey levels above the paper, whose plane
        is taken off.
    paper, uneven, contrast, noise
        ndarray of shape (n,), float64, grey levels: the paper's level at the middle of
        the frame; how much it differs over the frame; from paper to full ink; the
        deviation of its noise.
    ink
        ndarray of shape (n, H, W), bool: pixels over half way.
    seen
        ndarray of shape (n,), bool: whether there is a mark at all.
    """

    rise: Single
    paper: Real
    uneven: Real
    contrast: Real
    noise: Real
    ink: Mask
    seen: Mask


def levels(images: Pixels) -> Levels:
    """Tell paper from ink in each picture.

    Parameters
    ----------
    images
        ndarray of shape (n, H, W), uint8, ink bright.

    Examples
    --------
    >>> page = np.full((1, 12, 12), 40, np.uint8)
    >>> page[0, 3:9, 5:7] = 200
    >>> seen = levels(page)
    >>> float(seen.paper[0]), float(seen.contrast[0]), int(seen.ink.sum())
    (40.0, 160.0, 12)
    """
    count, height, width = images.shape
    flat = images.reshape(count, -1)
    ordered = np.sort(flat, axis=1)
    low = ordered[:, (flat.shape[1] - 1) * _PAPER_SHARE // 100].astype(np.float32)
    high = ordered[:, -max(1, flat.shape[1] // 100)].astype(np.float32)
    ink = images > ((low + high) / 2)[:, None, None]
    bare = ~near(ink, _ROOM_PX)
    noise, cut = _noise(images, bare)
    paper, slope_y, slope_x = _plane(images, bare & ~cut[:, None, None], noise, low)
    plane = _plane_values(paper, slope_y, slope_x, (height, width))
    rise = images.astype(np.float32)
    rise -= plane
    # Once more, with the shadow taken off: half way is then the same everywhere.
    top = np.partition(rise.reshape(count, -1), -max(1, flat.shape[1] // 100), axis=1)
    ink = rise > (top[:, -max(1, flat.shape[1] // 100)] / 2)[:, None, None]
    contrast = _full_ink(rise, ink)
    ink = rise > (contrast / 2).astype(np.float32)[:, None, None]
    seen = contrast >= np.maximum(_LEAST_CONTRAST, 3 * np.nan_to_num(noise))
    ink &= seen[:, None, None]
    uneven = np.abs(slope_y) * (height - 1) + np.abs(slope_x) * (width - 1)
    return Levels(
        rise,
        paper.astype(np.float64),
        uneven.astype(np.float64),
        np.where(seen, contrast, np.nan),
        noise,
        ink,
        seen,
    )


def near(mask: Mask, reach_px: int) -> Mask:
    """Pixels within so many rows and columns of any that are set."""
    grown = mask.copy()
    for _ in range(reach_px):
        wider = grown.copy()
        wider[:, 1:] |= grown[:, :-1]
        wider[:, :-1] |= grown[:, 1:]
        grown = wider.copy()
        grown[:, :, 1:] |= wider[:, :, :-1]
        grown[:, :, :-1] |= wider[:, :, 1:]
    return grown


def _plane(
    images: Pixels, bare: Mask, noise: Real, low: NDArray[np.float32]
) -> tuple[Real, Real, Real]:
    """Level at the middle and slopes of each paper."""
    count, height, width = images.shape
    few = bare.sum(axis=(1, 2)) < _FEWEST_PAPER
    values = images.astype(np.float32)
    y, x = (np.arange(side, dtype=np.float32) - (side - 1) / 2 for side in (height, width))
    paper = _masked_median(images, bare)
    paper = np.where(few, low, paper)
    # Paper that is one and the same grey has no slope: nothing to be fitted.
    off = np.where(bare, np.abs(values - paper[:, None, None].astype(np.float32)), 0)
    slope_y, slope_x, level = np.zeros(count), np.zeros(count), paper.astype(np.float64)
    rough = (off.max(axis=(1, 2)) > 0) & ~few
    if rough.any():
        part = np.flatnonzero(rough)
        level[part], slope_y[part], slope_x[part] = _fitted(
            values[part], bare[part], noise[part], level[part], (y, x)
        )
    return level, slope_y, slope_x


def _fitted(
    values: Single, bare: Mask, noise: Real, start: Real, middle: tuple[Single, Single]
) -> tuple[Real, Real, Real]:
    """Planes along the lower side of bare pixels: expectiles (W. K. Newey and J. L. Powell,
    Econometrica 55 (1987) 819-847), which the soft edge of a blurred mark can't lift."""
    count = len(values)
    y, x = middle
    basis = np.stack(np.broadcast_arrays(np.float32(1), y[:, None], x[None, :])).reshape(3, -1)
    pairs = (basis[:, None] * basis[None]).reshape(9, -1)
    flat = values.reshape(count, -1)
    chosen = bare.reshape(count, -1).astype(np.float32)
    found = np.stack([start, np.zeros(count), np.zeros(count)], axis=1)
    for _ in range(_EXPECTILE_STEPS):
        below = flat < found.astype(np.float32) @ basis
        weight = np.where(below, np.float32(1 - _EXPECTILE), np.float32(_EXPECTILE)) * chosen
        normal = (weight @ pairs.T).reshape(count, 3, 3).astype(np.float64)
        normal += np.eye(3) * 1e-6
        right = ((weight * flat) @ basis.T).astype(np.float64)
        found = np.linalg.solve(normal, right[:, :, None])[:, :, 0]
    # The level is where the lowest pixels say: 2 % of them lie two deviations under it.
    left = np.where(bare.reshape(count, -1), flat - found.astype(np.float32) @ basis, np.inf)
    at = (chosen.sum(axis=1) * _LOWEST).astype(np.intp)
    lowest = np.sort(left, axis=1)[np.arange(count), at]
    level = found[:, 0] + lowest + _TWO_SIGMA * np.nan_to_num(noise)
    return np.maximum(level, 0.0), found[:, 1], found[:, 2]


def _plane_values(
    level: NDArray[np.float64],
    slope_y: NDArray[np.float64],
    slope_x: NDArray[np.float64],
    frame: tuple[int, int],
) -> Single:
    y, x = (np.arange(side) - (side - 1) / 2 for side in frame)
    plane = (
        level[:, None, None]
        + slope_y[:, None, None] * y[None, :, None]
        + slope_x[:, None, None] * x[None, None, :]
    )
    return plane.astype(np.float32)


def _masked_median(images: Pixels, mask: Mask) -> NDArray[np.float64]:
    """Median of the chosen pixels of each picture; 0 where none is chosen."""
    count = len(images)
    flat = np.where(mask, images, 255).reshape(count, -1)
    number = mask.reshape(count, -1).sum(axis=1)
    # Those left out are all at the end: the chosen ones lie in order before them.
    ordered = np.sort(flat, axis=1)
    rows = np.arange(count)
    low = ordered[rows, np.maximum(number - 1, 0) // 2].astype(np.float64)
    high = ordered[rows, np.maximum(number, 1) // 2].astype(np.float64)
    return np.where(number > 0, (low + np.where(number % 2, low, high)) / 2, 0.0)


def _full_ink(rise: Single, ink: Mask) -> NDArray[np.float64]:
    """Grey levels from paper to full ink: a high quantile of the pixels over half way."""
    count = len(rise)
    number = ink.reshape(count, -1).sum(axis=1)
    ordered = np.sort(np.where(ink, rise, -np.inf).reshape(count, -1), axis=1)
    from_top = np.floor(number * (1 - _INK_SHARE)).astype(np.intp)
    full = ordered[np.arange(count), ordered.shape[1] - 1 - from_top].astype(np.float64)
    return np.where(number > 0, full, 0.0)


def _noise(images: Pixels, bare: Mask) -> tuple[Real, Mask]:
    """Deviation of the noise of bare paper, from how pixels differ from their neighbours.

    Also whether paper is as dark as can be, so that noise below it is cut off.
    """
    count = len(images)
    values = images.astype(np.int16)
    middle = values[:, 1:-1, 1:-1]
    around = values[:, :-2, 1:-1] + values[:, 2:, 1:-1] + values[:, 1:-1, :-2] + values[:, 1:-1, 2:]
    lone = bare[:, 1:-1, 1:-1]
    differs = np.abs(4 * middle - around)  # in quarters of a grey level, whole
    number = lone.reshape(count, -1).sum(axis=1)
    chosen = np.where(lone, differs, np.int16(32767)).reshape(count, -1)
    ordered = np.sort(chosen, axis=1)
    at = np.clip((number * _ONE_SIGMA).astype(np.intp), 0, ordered.shape[1] - 1)
    spread = ordered[np.arange(count), at].astype(np.float64) / 4
    zero = (bare & (images == 0)).reshape(count, -1).sum(axis=1)
    cut = zero > _CLIPPED * np.maximum(bare.reshape(count, -1).sum(axis=1), 1)
    noise = spread / np.where(cut, _CLIPPED_SCALE, _NORMAL)
    return np.where(number >= _FEWEST_PAPER, noise, np.nan), cut
