"""A page of a sheet as rectangles, lines and words, in mm; what they become is for others."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gen.glyphs.base import Pixels, Real
from gen.glyphs.paper.code import code_modules, code_text
from gen.glyphs.paper.layout import (
    BOX_MM,
    CELL_MM,
    CELLS,
    CODE_MM,
    DICTIONARY,
    EDGE_MM,
    FRAME_DARKNESS,
    FRAME_MM,
    FRAME_WIDTH_MM,
    Box,
    Plan,
    marker_ids,
)

_QUIET = 0.45
"""Darkness of words that are there to be looked up, not read."""


@dataclass(frozen=True)
class Block:
    """A filled rectangle, (x, y) of its upper left corner; darkness 0 to 1."""

    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float
    darkness: float = 1.0


@dataclass(frozen=True)
class Line:
    """A straight line with butt ends."""

    start_mm: tuple[float, float]
    end_mm: tuple[float, float]
    width_mm: float
    darkness: float = 1.0


@dataclass(frozen=True)
class Words:
    """Words that stand on a line; x is their left end, middle or right end."""

    x_mm: float
    baseline_mm: float
    text: str
    size_pt: float
    at: str = "left"
    darkness: float = 1.0
    most_mm: float | None = None


Shape = Block | Line | Words


def page_shapes(plan: Plan, page: int) -> tuple[Shape, ...]:
    """Everything that is printed on one page.

    Raises
    ------
    GlyphError
        If the class names can't be told by the code on it.
    """
    text = code_text(plan, page)
    shapes: list[Shape] = []
    for number, corners in zip(marker_ids(page), plan.markers_mm, strict=True):
        shapes += _squares(marker_cells(number), corners[0], CELL_MM)
    modules = code_modules(text)
    for corner in plan.codes_mm:
        shapes += _squares(modules, np.array(corner), CODE_MM / len(modules))
    shapes += _header(plan) + _footer(plan, page, text)
    for box in plan.boxes(page):
        shapes += [*_frame(box.x_mm, box.y_mm, BOX_MM), _label(box, plan.classes[box.label])]
    return tuple(shapes)


def marker_cells(number: int) -> Pixels:
    """One marker with its border: ndarray of shape (7, 7), uint8, 1 where it is dark."""
    import cv2

    kind = cv2.aruco.getPredefinedDictionary(getattr(cv2.aruco, DICTIONARY))
    dark: Pixels = (np.asarray(kind.generateImageMarker(number, CELLS)) == 0).astype(np.uint8)
    return dark


def _squares(dark: Pixels, corner_mm: Real, side_mm: float) -> list[Shape]:
    """Dark squares as blocks, each run of a row as one; rows overlap by nothing."""
    found: list[Shape] = []
    x0, y0 = float(corner_mm[0]), float(corner_mm[1])
    for row, cells in enumerate(dark):
        edges = np.flatnonzero(np.diff(np.concatenate([[0], cells.astype(np.int8), [0]])))
        for start, end in edges.reshape(-1, 2):
            found.append(
                Block(
                    x0 + start * side_mm,
                    y0 + row * side_mm,
                    (end - start) * side_mm,
                    side_mm,
                )
            )
    return found


def _frame(x_mm: float, y_mm: float, side_mm: float) -> list[Shape]:
    """The hairline round a writing area, with its middle FRAME_MM outside."""
    near_x, far_x = x_mm - FRAME_MM, x_mm + side_mm + FRAME_MM
    near_y, far_y = y_mm - FRAME_MM, y_mm + side_mm + FRAME_MM
    half = FRAME_WIDTH_MM / 2
    ends = [
        ((near_x - half, near_y), (far_x + half, near_y)),
        ((near_x - half, far_y), (far_x + half, far_y)),
        ((near_x, near_y + half), (near_x, far_y - half)),
        ((far_x, near_y + half), (far_x, far_y - half)),
    ]
    return [Line(start, end, FRAME_WIDTH_MM, FRAME_DARKNESS) for start, end in ends]


def _label(box: Box, name: str) -> Words:
    """The class over its box, in the middle: at the corners strokes cross out."""
    return Words(
        box.x_mm + BOX_MM / 2,
        box.y_mm - FRAME_MM - 0.8,
        name,
        size_pt=7.5,
        at="middle",
        darkness=0.7,
        most_mm=9.0,
    )


def _header(plan: Plan) -> list[Shape]:
    left, right = plan.field_mm
    writer_from = float(plan.markers_mm[1, 1, 0]) + 4
    writer_to = float(plan.markers_mm[2, 0, 0]) - 4
    side, over = 6.0, 1.4
    aside = right - 28.0
    example_x, example_y = aside - side - 4.2, 31.0
    shapes: list[Shape] = [
        Words(left, 15.2, "Inkdrift", 12),
        Line((writer_from, 17.4), (writer_to, 17.4), 0.2, 0.6),
        Words(writer_from, 20.4, "writer, for your own order; not read", 6, darkness=_QUIET),
        Words(left, 32.4, "Write one mark in each box, the way you always write it,", 9),
        Words(left, 37.0, "and stay inside the frame. To leave a box out, keep it empty.", 9),
        Words(aside, 31.8, "To cross a mark out,", 7, darkness=0.7),
        Words(aside, 34.9, "draw two lines through", 7, darkness=0.7),
        Words(aside, 38.0, "the corners of its box.", 7, darkness=0.7),
        *_frame(example_x, example_y, side),
    ]
    near = (example_x - over, example_y - over)
    far = (example_x + side + over, example_y + side + over)
    shapes.append(Line(near, far, 0.35, 0.85))
    shapes.append(Line((far[0], near[1]), (near[0], far[1]), 0.35, 0.85))
    return shapes


def _footer(plan: Plan, page: int, text: str) -> list[Shape]:
    left, right = plan.field_mm
    low = plan.size_mm[1] - EDGE_MM
    return [
        Words(left + CODE_MM + 2.5, low - 13.0, text, 6, darkness=_QUIET),
        Words(right, low - 13.0, f"page {page} of {plan.pages}", 6, "right", _QUIET),
    ]
