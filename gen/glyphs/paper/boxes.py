"""Boxes cut out of a photograph, and which of them hold a mark.

A pixel of a cut counts ink: 255 times the share of the paper's light that is missing
there. Paper isn't all of one grey, so what is fainter than four sigma of its noise is 0, and
so is what shows through from its back (`back`); everything else is as photographed, neither
stretched nor thinned.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gen.glyphs.base import Pixels
from gen.glyphs.paper.back import without_back
from gen.glyphs.paper.layout import BOX_MM, FRAME_MM, FRAME_WIDTH_MM
from gen.glyphs.paper.light import Shade, at_points
from gen.glyphs.paper.page import Page, photo_map

MARGIN_MM = 2
"""Round the writing area, looked at but not kept: crossing out goes beyond the corners."""
STEP_PX = 7
"""A side is a multiple of this, so that the margin is whole as well: BOX_MM / MARGIN_MM."""
MOST_SIDE_PX = 252
"""18 px a mm, 457 dots an inch: pens are 0.3 mm and more."""

KEPT, EMPTY, CROSSED, CUT, COVERED = "kept", "empty", "crossed out", "over the edge", "covered"
STATES = (KEPT, EMPTY, CROSSED, CUT, COVERED)

LEAST_MM2 = 0.1
"""Ink of a mark: a point made with the finest pen covers more, a grain of dust less."""
_FAINTEST = 30
"""Ink, of 255, that is counted when boxes are judged; 12 %, under any pencil."""
_EDGE_MM = 0.15
_CORNER_MM = 1.5
"""How far from the corner of the writing area ink beyond it is looked for."""
_CORNER_MM2 = 0.06
_BAND_MM = 1.4
"""Round a diagonal, either side: strokes by hand stray so far."""
_CROSSED_SHARE = 0.75
"""Of a diagonal that has to be under ink."""


@dataclass(frozen=True)
class Cuts:
    """The boxes of one page.

    Attributes
    ----------
    images
        ndarray of shape (boxes, side, side), uint8: ink of each writing area.
    states
        What became of each: one of `STATES`.
    floor
        Ink under which a pixel is 0.
    faint
        Share of the page's ink that was left out because it shows through from the back.
    """

    images: Pixels
    states: tuple[str, ...]
    floor: int
    faint: float = 0.0


def side_px(px_mm: float) -> int:
    """Side of a cut that shows no box smaller than the photograph does.

    Examples
    --------
    >>> side_px(10.0), side_px(11.2), side_px(40.0)
    (140, 161, 252)
    """
    fitting = int(np.ceil(BOX_MM * px_mm / STEP_PX - 1e-9)) * STEP_PX
    return min(MOST_SIDE_PX, fitting)


def cut_boxes(grey: Pixels, page: Page, side: int) -> Cuts:
    """Cut the boxes of a page out of its photograph, and judge them.

    Between pixels of the photograph values are taken as straight lines have them, once.

    Parameters
    ----------
    grey
        The photograph, ndarray of shape (H, W), uint8.
    page
        The page in it.
    side
        Of each cut, px: a multiple of 7.
    """
    boxes = page.plan.boxes(page.number)
    ink, floor = _ink(grey, page, side)
    margin = side * MARGIN_MM // int(BOX_MM)
    inner = slice(margin, margin + side)
    px_mm = side / BOX_MM
    least = max(_FAINTEST, floor + 10)
    ink[ink < floor] = 0
    faint = without_back(ink, inner, px_mm, ~page.covered, least=least)
    dark = ink >= least
    states = []
    crossed = _crossed(dark, side, margin)
    area = dark[:, inner, inner].sum(axis=(1, 2)) / px_mm**2
    rim = _rim(dark[:, inner, inner], px_mm)
    for index in range(len(boxes)):
        if page.covered[index]:
            states.append(COVERED)
        elif area[index] < LEAST_MM2:
            states.append(EMPTY)
        elif crossed[index]:
            states.append(CROSSED)
        elif rim[index] > LEAST_MM2 / 2:
            states.append(CUT)
        else:
            states.append(KEPT)
    return Cuts(np.ascontiguousarray(ink[:, inner, inner]), tuple(states), floor, faint)


def _ink(grey: Pixels, page: Page, side: int) -> tuple[Pixels, int]:
    """Ink of each box with its margin, and the floor under which it is noise."""
    import cv2

    boxes = page.plan.boxes(page.number)
    corners = np.array([(box.x_mm, box.y_mm) for box in boxes]) - MARGIN_MM
    whole = int(BOX_MM) + 2 * MARGIN_MM
    px_mm = side / BOX_MM
    x, y = photo_map(page.warp, corners, (whole, whole), px_mm)
    count, high, wide = x.shape
    seen = cv2.remap(
        grey,
        x.reshape(-1, wide),
        y.reshape(-1, wide),
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REPLICATE,
    )
    lit = _lit(page.light, corners, high, px_mm)
    share = seen.reshape(x.shape).astype(np.float32) / lit
    # The field of light is smooth; what is left of it over one box is taken from its paper.
    few = share[:, ::3, ::3].reshape(count, -1)
    bare = np.where(few > 0.85, few, np.nan)
    with np.errstate(all="ignore"):
        level = _nanmedian(bare)
        noise = 1.4826 * float(np.median(_nanmedian(np.abs(bare - level[:, None]))))
    share /= level[:, None, None]
    floor = int(np.clip(np.ceil(4 * 255 * noise), 3, 60))
    ink = np.clip(np.round(255 * (1 - share)), 0, 255).astype(np.uint8)
    return ink, floor


def _nanmedian(values: NDArray[np.float32]) -> Shade:
    """Median of each row without nan; 1 of a row that has nothing else."""
    ordered = np.sort(values, axis=1)  # nan come last
    count = np.isfinite(values).sum(axis=1)
    middle = np.take_along_axis(ordered, np.maximum(count // 2, 0)[:, None], 1)[:, 0]
    return np.where(count > 0, middle, 1).astype(np.float32)


def _lit(light: Shade, corners: NDArray[np.float64], size: int, px_mm: float) -> Shade:
    """The field of light over each box: ndarray of shape (n, size, size)."""
    at = (np.arange(size) + 0.5) / px_mm
    x = np.broadcast_to((corners[:, 0, None] + at)[:, None, :], (len(corners), size, size))
    y = np.broadcast_to((corners[:, 1, None] + at)[:, :, None], (len(corners), size, size))
    flat = at_points(
        light,
        x.astype(np.float32).reshape(-1, size),
        y.astype(np.float32).reshape(-1, size),
    )
    return flat.reshape(len(corners), size, size)


def _rim(dark: NDArray[np.bool_], px_mm: float) -> NDArray[np.float64]:
    """Ink in the outermost strip of the writing area, as mm2."""
    wide = max(1, round(_EDGE_MM * px_mm))
    inside = dark[:, wide:-wide, wide:-wide].sum(axis=(1, 2))
    strip: NDArray[np.float64] = (dark.sum(axis=(1, 2)) - inside) / px_mm**2
    return strip


def _crossed(dark: NDArray[np.bool_], side: int, margin: int) -> NDArray[np.bool_]:
    """Boxes with two strokes from corner to corner that go beyond the writing area.

    Three of the four corners have ink outside of it, and three quarters of either diagonal
    lie within 1.4 mm of ink. A mark that only fills its box, an X too, has none outside.
    """
    import cv2

    px_mm = side / BOX_MM
    corner = _corner_mask(side, margin)
    beyond = []
    for flip_y in (False, True):
        for flip_x in (False, True):
            mask = corner[:: -1 if flip_y else 1, :: -1 if flip_x else 1]
            beyond.append((dark & mask).sum(axis=(1, 2)) / px_mm**2 > _CORNER_MM2)
    crossed: NDArray[np.bool_] = np.asarray(np.sum(beyond, axis=0) >= 3)
    reach = 2 * round(_BAND_MM * px_mm) + 1
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (reach, reach))
    along = np.arange(margin, margin + side)
    for index in np.flatnonzero(crossed):
        near = cv2.dilate(dark[index].astype(np.uint8), disc)
        down, up = near[along, along].mean(), near[along, along[::-1]].mean()
        crossed[index] = min(down, up) >= _CROSSED_SHARE
    return crossed


def _corner_mask(side: int, margin: int) -> NDArray[np.bool_]:
    """Beyond the upper left corner of the writing area, without the lines of the frame."""
    px_mm = side / BOX_MM
    size = side + 2 * margin
    away = (margin - np.arange(size) - 0.5) / px_mm  # mm outside of the area; negative within
    near = np.abs(away) < _CORNER_MM
    outside = away > 0.1
    line = np.abs(away - FRAME_MM) < FRAME_WIDTH_MM / 2 + 0.2
    square = near[:, None] & near[None] & (outside[:, None] | outside[None])
    mask: NDArray[np.bool_] = square & ~line[:, None] & ~line[None]
    return mask
