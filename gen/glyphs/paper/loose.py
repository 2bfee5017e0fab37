"""Separate marks on a page that is no sheet: found, put together and put in reading order.

The rules, in units of M, the median of the longer sides of all pieces that are at least
three strokes long:

- Ink is what is darker than the paper round it by 40 % of what pens leave on this page, and
  by 15 % at least. A piece is ink that hangs together; one smaller than 0.4 times the square
  of the width of a stroke is a speck.
- Two pieces closer than 0.12 M are one mark: a stroke that was interrupted.
- A piece under 0.45 M is a dot and belongs to the nearest larger piece, if that is within
  0.5 M; else it is a mark by itself.
- What is longer than half of the picture, or touches its edge, is no mark.
- A line holds marks whose middles are within 0.6 M of the middle of the line, once a slope
  of up to 10 degrees, the one at which lines are narrowest, is taken out. Lines are read
  downwards, and each from left to right.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gen.core.errors import GlyphError
from gen.glyphs.base import Pixels, Real
from gen.glyphs.paper.light import Shade

JOIN = 0.12
_DOT, _DOT_REACH = 0.45, 0.5
_LINE = 0.6
_LEAST_INK, _INK_SHARE = 0.15, 0.4
_SPECK = 0.4
_MOST_INK = 0.3  # closely written pages have a tenth
_MOST_MARKS = 5000
_LOOKED_AT_PX = 800


@dataclass(frozen=True)
class Mark:
    """One mark.

    Attributes
    ----------
    top, left, height, width
        Its box in the photograph, px.
    line, place
        From 1, in reading order.
    ink
        ndarray of shape (height + 2 a, width + 2 a), uint8: its ink alone, with a margin
        of `air` px on each side.
    """

    top: int
    left: int
    height: int
    width: int
    line: int
    place: int
    ink: Pixels


@dataclass(frozen=True)
class Marks:
    """The marks of a page.

    Attributes
    ----------
    marks
        In reading order.
    air
        Margin of their pictures, px.
    specks, large, cut
        How many pieces were left out: too small, too large, at the edge of the picture.
    size_px
        M, see above.
    """

    marks: tuple[Mark, ...]
    air: int
    specks: int
    large: int
    cut: int
    size_px: float


def find_marks(where: str, grey: Pixels, *, join: float = JOIN) -> Marks:
    """Find the marks on a page of plain paper.

    Parameters
    ----------
    where
        The file, for errors.
    grey
        ndarray of shape (H, W), uint8, dark ink on light paper.
    join
        Gap under which two pieces are one mark, in M.

    Raises
    ------
    GlyphError
        If there are none, or more than 5,000.
    """
    import cv2

    ink = _ink(grey)
    dark = ink >= _threshold(where, ink)
    if dark.mean() > _MOST_INK:
        raise GlyphError(
            where,
            "there is too much ink for a page of marks",
            got=f"{dark.mean():.0%} of the picture",
            allowed=f"up to {_MOST_INK:.0%}",
            hint="dark ink on plain, light paper; is it bright on dark?",
        )
    count, pieces, stats, _ = cv2.connectedComponentsWithStats(dark.astype(np.uint8))
    pieces = np.asarray(pieces, np.int32)
    boxes = np.asarray(stats[1:], np.int64)  # left, top, width, height, area
    stroke = _stroke_px(dark)
    kept, told = _kept(boxes, stroke, grey.shape)
    if not kept.any():
        raise GlyphError(
            where,
            "there are no marks on this page",
            got=f"{count - 1:,} pieces of ink, none of the size of a mark",
            hint="dark ink on plain, light paper, sharp and near",
        )
    longer = boxes[:, 2:4].max(axis=1)
    strokes = kept & (longer >= 3 * stroke)
    size = float(np.median(longer[strokes if strokes.any() else kept]))
    number = np.zeros(count, np.int32)  # of its piece, 0 for paper and what is left out
    number[1:][kept] = np.arange(1, kept.sum() + 1)
    shown = number[pieces]
    owner = _joined(shown, longer[kept], size, join)
    if owner.max() + 1 > _MOST_MARKS:
        raise GlyphError(
            where,
            "there is too much on this page for a page of marks",
            got=f"{owner.max() + 1:,} marks",
            allowed=f"up to {_MOST_MARKS:,}",
            hint="plain paper without print or pattern",
        )
    air = int(np.ceil(stroke / 2)) + 3
    return Marks(_in_order(ink, shown, owner, boxes[kept], size=size, air=air), air, *told, size)


def _ink(grey: Pixels) -> Pixels:
    """Ink as share of the paper's light, 0 to 255; the light as `paper_light` has it."""
    import cv2

    scale = max(1.0, max(grey.shape) / _LOOKED_AT_PX)
    size = (round(grey.shape[1] / scale), round(grey.shape[0] / scale))
    small = cv2.resize(grey, size, interpolation=cv2.INTER_AREA).astype(np.float32)
    reach = max(15, round(min(size) / 16)) | 1
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (reach, reach))
    closed = cv2.morphologyEx(small, cv2.MORPH_CLOSE, disc)
    smooth = cv2.GaussianBlur(closed, (0, 0), reach / 4, borderType=cv2.BORDER_REPLICATE)
    full = cv2.resize(smooth, (grey.shape[1], grey.shape[0]), interpolation=cv2.INTER_LINEAR)
    light: Shade = np.maximum(np.asarray(full, np.float32), np.float32(1))
    share = grey.astype(np.float32) / light
    bare = share[::5, ::5][share[::5, ::5] > 0.85]
    if len(bare):
        share /= np.float32(np.median(bare))
    ink: Pixels = np.clip(np.round(255 * (1 - share)), 0, 255).astype(np.uint8)
    # What is fainter than four sigma of the noise of the paper is paper, as in boxes.
    noise = 1.4826 * np.median(np.abs(bare - np.median(bare))) if len(bare) else 0.0
    ink[ink < np.clip(np.ceil(4 * 255 * noise), 3, 60)] = 0
    return ink


def _threshold(where: str, ink: Pixels) -> float:
    least = _LEAST_INK * 255
    written = ink[ink >= 2 * least]
    if len(written) == 0:
        raise GlyphError(
            where,
            "there is no ink on this page",
            got=f"nothing darker than {2 * _LEAST_INK:.0%} under the paper",
            hint="dark ink on plain, light paper",
        )
    return max(least, _INK_SHARE * float(np.percentile(written, 75)))


def _stroke_px(dark: NDArray[np.bool_]) -> float:
    """Width of a stroke: four times the mean distance of its pixels from the paper."""
    import cv2

    inside = cv2.distanceTransform(dark.astype(np.uint8), cv2.DIST_L2, 5)
    depth = inside[dark]
    return max(1.0, 4 * float(np.median(depth)) - 1.0)


def _kept(
    boxes: NDArray[np.int64], stroke: float, shape: tuple[int, ...]
) -> tuple[NDArray[np.bool_], tuple[int, int, int]]:
    """Which pieces may be marks, and how many are specks, too large, or at the edge."""
    left, top, wide, high, area = boxes.T
    speck = area < _SPECK * stroke**2
    large = ~speck & (np.maximum(wide, high) > min(shape) / 2)
    edge = (left <= 0) | (top <= 0) | (left + wide >= shape[1]) | (top + high >= shape[0])
    edge &= ~speck & ~large
    return ~speck & ~large & ~edge, (int(speck.sum()), int(large.sum()), int(edge.sum()))


def _joined(
    shown: NDArray[np.int32], longer: NDArray[np.int64], size: float, join: float
) -> NDArray[np.intp]:
    """The mark of each piece: ndarray of shape (pieces,), from 0."""
    import cv2
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    count = len(longer)
    pairs = _close_pairs(shown, join * size)
    small = longer < _DOT * size
    if small.any() and not small.all():
        large = np.concatenate([[False], ~small])[shown]
        away, nearest = cv2.distanceTransformWithLabels(
            (~large).astype(np.uint8), cv2.DIST_L2, 5, labelType=cv2.DIST_LABEL_PIXEL
        )
        # Labels number the pixels of the large pieces; which piece is read from one of them.
        at = np.zeros(int(nearest.max()) + 1, np.int32)
        at[nearest[large]] = shown[large]
        dot = np.concatenate([[False], small])[shown]
        piece, distance, owner = shown[dot], away[dot], at[nearest[dot]]
        order = np.lexsort((distance, piece))
        first = order[np.unique(piece[order], return_index=True)[1]]
        near = first[distance[first] <= _DOT_REACH * size]
        pairs = np.concatenate([pairs, np.stack([piece[near], owner[near]], axis=1)])
    ones = np.ones(len(pairs), np.int8)
    links = coo_array((ones, (pairs[:, 0] - 1, pairs[:, 1] - 1)), shape=(count, count))
    return np.asarray(connected_components(links, directed=False)[1], np.intp)


def _close_pairs(shown: NDArray[np.int32], gap: float) -> NDArray[np.int32]:
    """Pairs of pieces with ink closer than a gap: ndarray of shape (n, 2), from 1."""
    from scipy.spatial import cKDTree

    dark = shown > 0
    inner = dark.copy()
    inner[1:-1, 1:-1] = dark[1:-1, 1:-1] & dark[:-2, 1:-1] & dark[2:, 1:-1]
    inner[1:-1, 1:-1] &= dark[1:-1, :-2] & dark[1:-1, 2:]
    y, x = np.nonzero(dark & ~inner)
    # From edge to edge of the ink: a pixel less than from centre to centre.
    found = cKDTree(np.stack([y, x], axis=1)).query_pairs(gap + 1.0, output_type="ndarray")
    pieces = shown[y, x]
    pairs = np.stack([pieces[found[:, 0]], pieces[found[:, 1]]], axis=1)
    return np.unique(np.sort(pairs[pairs[:, 0] != pairs[:, 1]], axis=1), axis=0)


def _in_order(
    ink: Pixels,
    shown: NDArray[np.int32],
    owner: NDArray[np.intp],
    boxes: NDArray[np.int64],
    *,
    size: float,
    air: int,
) -> tuple[Mark, ...]:
    """The marks in reading order, each with its own ink."""
    count = int(owner.max()) + 1
    far = np.iinfo(np.int64).max
    near, end = np.full((count, 2), far), np.zeros((count, 2), np.int64)
    np.minimum.at(near, owner, boxes[:, :2])
    np.maximum.at(end, owner, boxes[:, :2] + boxes[:, 2:4])
    lines = reading_order((near + end) / 2, size)
    whole = np.concatenate([[-1], owner]).astype(np.int32)[shown]
    wide = np.pad(whole, air, constant_values=-1)
    room = np.pad(ink, air)
    made = []
    for line, members in enumerate(lines, start=1):
        for place, index in enumerate(members, start=1):
            (left, top), (right, low) = near[index], end[index]
            part = (slice(top, low + 2 * air), slice(left, right + 2 * air))
            own = _own(wide[part], int(index), room[part], air)
            made.append(
                Mark(int(top), int(left), int(low - top), int(right - left), line, place, own)
            )
    return tuple(made)


def _own(whole: NDArray[np.int32], index: int, ink: Pixels, air: int) -> Pixels:
    """The ink of one mark: what is nearer to it than to any other, and near."""
    import cv2

    mine = whole == index
    away = cv2.distanceTransform((~mine).astype(np.uint8), cv2.DIST_L2, 5)
    keep = away <= air
    others = (whole >= 0) & ~mine
    if others.any():
        keep &= away < cv2.distanceTransform((~others).astype(np.uint8), cv2.DIST_L2, 5)
    own: Pixels = np.where(keep, ink, 0).astype(np.uint8)
    return own


def reading_order(centres: Real, size: float) -> list[NDArray[np.intp]]:
    """Lines of marks, downwards, each from left to right.

    Parameters
    ----------
    centres
        ndarray of shape (n, 2), float64: middles of marks, (x, y), px.
    size
        M, px.

    Examples
    --------
    >>> marks = np.array([[90.0, 12.0], [10.0, 10.0], [12.0, 60.0]])
    >>> [line.tolist() for line in reading_order(marks, 30.0)]
    [[1, 0], [2]]
    """
    slopes = np.tan(np.deg2rad(np.arange(-10, 10.25, 0.25)))
    slopes = slopes[np.argsort(np.abs(slopes), kind="stable")]
    levels = centres[:, 1] - slopes[:, None] * centres[:, 0]
    # A mark that lies on a line of others has a neighbour at nearly its level.
    ordered = np.sort(levels, axis=1)
    steps = np.minimum(np.diff(ordered, axis=1), _LINE * size).sum(axis=1)
    level = levels[int(steps.argmin())]
    lines: list[list[int]] = []
    for index in np.argsort(level, kind="stable"):
        if lines and level[index] - np.mean(level[lines[-1]]) <= _LINE * size:
            lines[-1].append(int(index))
        else:
            lines.append([int(index)])
    return [np.array(sorted(line, key=lambda at: centres[at, 0]), np.intp) for line in lines]
