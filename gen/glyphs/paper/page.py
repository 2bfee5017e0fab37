"""One photograph of one page, up to where its boxes lie and how it is lit."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from gen.core.errors import GlyphError
from gen.glyphs.base import Pixels, Real
from gen.glyphs.paper.frames import Frames, find_frames
from gen.glyphs.paper.layout import BOX_MM, Plan
from gen.glyphs.paper.light import Shade, at_points, paper_light
from gen.glyphs.paper.markers import find_markers
from gen.glyphs.paper.reading import read_sheet
from gen.glyphs.paper.unwarp import Warp

PAGE_PX_MM = 8.0
"""Of the flattened page, in which frames are looked for."""
OFF_MM = 0.5
"""A frame farther from its place than this, after all corrections, isn't believed: it would
come into what is cut."""
DARKEST = 45.0
"""Grey of bare paper, of 255, under which a page is too dark: 5 grey levels are 1/9 of it."""

_STRAY_MM = 0.25  # from its neighbours, before the sheet is fitted to a frame
_FEW = 12  # frames that are worth a fit


@dataclass(frozen=True)
class Page:
    """Where the boxes of a page lie in a photograph.

    Attributes
    ----------
    plan, number
        The sheet, and which of its pages this is.
    warp
        From the sheet to the photograph.
    light
        Grey of bare paper over the page, 2 px a mm.
    covered
        ndarray of shape (boxes,), bool: boxes whose frame isn't where it should be,
        because something lies over it or it is outside of the picture.
    px_mm
        Pixels of the photograph to a mm, in the box which it shows largest.
    notes
        What can't be taken for granted, a line each.
    """

    plan: Plan
    number: int
    warp: Warp
    light: Shade
    covered: NDArray[np.bool_]
    px_mm: float
    notes: tuple[str, ...]


def read_page(where: str, grey: Pixels, *, told: str | None = None) -> Page:
    """Find a page in a photograph, and its boxes.

    Parameters
    ----------
    where
        The file, for errors.
    grey
        ndarray of shape (H, W), uint8.
    told
        The line of the sheet, for a page whose code can't be read.

    Raises
    ------
    GlyphError
        If the page can't be found, read, or flattened, or is too dark.
    """
    markers = find_markers(where, grey)
    plan, warp, coded = read_sheet(where, grey, markers, told=told)
    boxes = plan.boxes(markers.page)
    centres = np.array([(box.x_mm, box.y_mm) for box in boxes]) + BOX_MM / 2
    page = flat_page(grey, warp, PAGE_PX_MM)
    light = paper_light(page, PAGE_PX_MM)
    at = centres.astype(np.float32)
    median = float(np.median(at_points(light, at[:, :1], at[:, 1:])))
    if median < DARKEST:
        raise GlyphError(
            where,
            "the photograph is too dark",
            got=f"bare paper has a grey of {median:.0f} of 255",
            allowed=f"at least {DARKEST:.0f}",
            hint="more light, or a longer exposure",
        )
    frames = find_frames(_darkness(page, light), PAGE_PX_MM, boxes)
    notes: list[str] = []
    if not coded:
        notes.append("its code can't be read: classes and their order are what --sheet says")
    covered: NDArray[np.bool_] = np.zeros(len(boxes), dtype=np.bool_)
    if (frames.sides >= 3).mean() < 0.5:
        notes.append("the frames of the boxes are too faint to check by: placed by markers alone")
    else:
        better = _with_frames(warp, centres, frames)
        if better is not warp:
            warp = better
            page = flat_page(grey, warp, PAGE_PX_MM)
            frames = find_frames(_darkness(page, light), PAGE_PX_MM, boxes)
        off = np.linalg.norm(frames.off_mm, axis=1)
        covered = np.asarray((frames.sides < 3) | ~(off <= OFF_MM))
    outside: NDArray[np.bool_] = np.logical_not(_in_picture(warp, centres, grey.shape))
    return Page(
        plan,
        markers.page,
        warp,
        light,
        covered | outside,
        float(warp.px_mm(centres).max()),
        tuple(notes),
    )


def flat_page(grey: Pixels, warp: Warp, px_mm: float) -> Pixels:
    """The page as if it lay flat under the camera: ndarray of shape (H, W), uint8."""
    import cv2

    wide, high = warp.size_mm
    x, y = photo_map(warp, np.zeros((1, 2)), (int(np.ceil(wide)), int(np.ceil(high))), px_mm)
    size = (round(high * px_mm), round(wide * px_mm))
    return np.asarray(
        cv2.remap(
            grey,
            x[0, : size[0], : size[1]],
            y[0, : size[0], : size[1]],
            cv2.INTER_LINEAR,
            borderMode=cv2.BORDER_REPLICATE,
        )
    )


def photo_map(
    warp: Warp, corners_mm: Real, size_mm: tuple[int, int], px_mm: float
) -> tuple[Shade, Shade]:
    """Where in the photograph each pixel of some rectangles of the sheet is seen.

    The model is asked once a mm and straight lines drawn between; over a mm they are off
    by less than 0.01 px even at 45 degrees. The outermost half mm repeats what is inside.

    Parameters
    ----------
    warp
        From the sheet to the photograph.
    corners_mm
        ndarray of shape (n, 2): upper left corners of the rectangles, (x, y).
    size_mm
        Width and height of each; times `px_mm` these must be whole.
    px_mm
        Pixels to a mm.

    Returns
    -------
    x, y
        ndarray of shape (n, h, w), float32 each.
    """
    import cv2

    nodes = np.stack(np.meshgrid(np.arange(size_mm[0]) + 0.5, np.arange(size_mm[1]) + 0.5), -1)
    seen = warp.to_photo(corners_mm[:, None, None] + nodes).astype(np.float32)
    size = (round(size_mm[0] * px_mm), round(size_mm[1] * px_mm))
    fine = np.stack([cv2.resize(each, size, interpolation=cv2.INTER_LINEAR) for each in seen])
    return np.ascontiguousarray(fine[..., 0]), np.ascontiguousarray(fine[..., 1])


def _darkness(page: Pixels, light: Shade) -> Shade:
    import cv2

    size = (page.shape[1], page.shape[0])
    return 1 - page.astype(np.float32) / cv2.resize(light, size, interpolation=cv2.INTER_LINEAR)


def _with_frames(warp: Warp, centres: Real, frames: Frames) -> Warp:
    """The warp fitted to the frames too, those left out that lie unlike the others."""
    good = (frames.sides >= 3) & np.isfinite(frames.off_mm).all(axis=1)
    for _ in range(2):
        if good.sum() < _FEW:
            return warp
        better = warp.with_frames(centres[good], centres[good] + frames.off_mm[good])
        moved = warp.flat(centres + np.nan_to_num(frames.off_mm)) - better.flat(centres)
        good &= np.linalg.norm(moved, axis=1) < _STRAY_MM
    return replace(better, worst_mm=warp.worst_mm)


def _in_picture(warp: Warp, centres: Real, shape: tuple[int, ...]) -> NDArray[np.bool_]:
    """Whether all of a writing area is in the photograph."""
    half = BOX_MM / 2
    corners = np.array([(-half, -half), (half, -half), (half, half), (-half, half)])
    seen = warp.to_photo(centres[:, None] + corners)
    limit = np.array([shape[1] - 1, shape[0] - 1])
    return np.asarray(((seen >= 0) & (seen <= limit)).all(axis=(1, 2)))
