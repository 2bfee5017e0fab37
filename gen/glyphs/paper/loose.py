"""Separate marks on a page that is no sheet: found, put together and put in reading order.

The rules, in units of M, the median of the longer sides of all pieces that are at least
three strokes long:

- Ink is what is darker than the paper round it by 40 % of what pens leave on this page, and
  by 15 % at least. A piece is ink that hangs together; one smaller than 0.4 times the square
  of the width of a stroke is a speck.
- Two pieces closer than 0.12 M are one mark: a stroke that was interrupted.
- A piece under 0.45 M is a dot and belongs to the nearest larger piece, if that is within
  0.5 M. Two dots that belong to none, one above the other and as near, are one mark, as is
  a colon; else a dot is a mark by itself.
- Two flat pieces one above the other are one mark, as is an equals sign: each twice as long
  as high at least, neither over twice as long as the other, 0.6 of the shorter below the
  longer, and the gap up to half the longer.
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
from gen.glyphs.base import Pixels
from gen.glyphs.paper.joined import joined
from gen.glyphs.paper.pieces import ink_threshold, page_ink, possible_marks, stroke_px
from gen.glyphs.paper.reading_order import reading_order

JOIN = 0.12
_MOST_INK = 0.3  # closely written pages have a tenth
_MOST_MARKS = 5000


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

    ink = page_ink(grey)
    dark = ink >= ink_threshold(where, ink)
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
    stroke = stroke_px(dark)
    kept, told = possible_marks(boxes, stroke, grey.shape)
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
    owner = joined(shown, boxes[kept], size, join)
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
