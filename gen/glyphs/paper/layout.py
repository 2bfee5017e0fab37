"""Where everything on a sheet is, in mm from the upper left corner of the paper; x is right."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from gen.core.errors import GlyphError
from gen.glyphs.base import Real

PAPERS = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
"""Width and height of each paper, mm. ISO 216:2007; ANSI/ASME Y14.1, size A."""

BOX_MM = 14.0
"""Side of the writing area, which is what is cut: people write capitals and digits of 5 to
10 mm into a box that size without touching it."""
FRAME_MM = 0.6
"""From the writing area to the frame round it, so that a cut which is off by the worst that
is let through still holds nothing of the frame."""
FRAME_WIDTH_MM = 0.2
FRAME_DARKNESS = 0.38
"""Of the frame: a hairline that a writer sees and that is fainter than any pen."""
PITCH_X_MM, PITCH_Y_MM = 16.8, 20.0
"""From box to box: 1.6 mm between two frames, and 3.2 mm more over them, so that a label stands
nearer to its own box than to the one above."""

CELL_MM = 1.2
CELLS = 7
MARKER_MM = CELL_MM * CELLS
"""Side of a marker, five cells and its border. A phone of 12 megapixels that sees all of an A4
page shows a cell with 12 px; three are needed."""
EDGE_MM = 9.0
"""From the edge of the paper to the markers: office printers leave 4 to 6.4 mm white, and a
sheet may be drawn in 2 mm askew."""
CODE_MM = 18.0
"""Side of the square code: with a line of usual length its modules are 0.6 mm, and a
photograph of 5 px a mm shows each with three."""

_FIELD_X_MM = 21.0  # three cells of quiet between the markers and what stands beside them
_FIELD_TOP_MM, _FIELD_BOTTOM_MM = 42.0, 26.0

PER_PAGE = 12
"""Markers on a page. Four corners, and two along each edge so that a bend can be told."""
MOST_PAGES = 20
"""Of one sheet: the dictionary of 250 markers has twelve for each."""
DICTIONARY = "DICT_5X5_250"

ORDERS = ("turns", "blocks")


@dataclass(frozen=True)
class Box:
    """One box of a page.

    Attributes
    ----------
    number
        Of the box on its page, from 1, in reading order.
    label
        Index of its class.
    row, column
        From 1.
    x_mm, y_mm
        Upper left corner of the writing area.
    """

    number: int
    label: int
    row: int
    column: int
    x_mm: float
    y_mm: float


@dataclass(frozen=True)
class Plan:
    """A sheet: its paper, its classes, and how many boxes each has.

    Attributes
    ----------
    classes
        Class names.
    per_class
        Boxes of each.
    paper
        "A4" or "Letter".
    order
        "turns": each class once, then each again. "blocks": all boxes of a class, then
        all of the next.

    Examples
    --------
    >>> plan = Plan(tuple("0123456789"), 30)
    >>> plan.pages, len(plan.boxes(1)), len(plan.boxes(3))
    (3, 110, 80)
    >>> [plan.classes[box.label] for box in plan.boxes(1)[9:12]]
    ['9', '0', '1']
    """

    classes: tuple[str, ...]
    per_class: int
    paper: str = "A4"
    order: str = "turns"

    def __post_init__(self) -> None:
        if self.paper not in PAPERS:
            raise GlyphError(
                "paper", "there is no such paper", got=self.paper, allowed=", ".join(PAPERS)
            )
        if self.order not in ORDERS:
            raise GlyphError(
                "order", "there is no such order", got=self.order, allowed=", ".join(ORDERS)
            )
        most = MOST_PAGES * self.rows * self.columns
        if not 1 <= self.per_class <= most or self.per_class * len(self.classes) > most:
            raise GlyphError(
                "sheet",
                f"a sheet has 1 to {MOST_PAGES} pages",
                got=f"{len(self.classes)} classes x {self.per_class:,} boxes",
                allowed=f"up to {most:,} boxes on {self.paper}",
                hint="fewer boxes of each class; a sheet can be printed more than once",
            )

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height of the paper."""
        return PAPERS[self.paper]

    @property
    def columns(self) -> int:
        """Boxes in a row."""
        return int((self.size_mm[0] - 2 * _FIELD_X_MM) / PITCH_X_MM + 1e-6)

    @property
    def rows(self) -> int:
        """Rows on a page."""
        return int((self.size_mm[1] - _FIELD_TOP_MM - _FIELD_BOTTOM_MM) / PITCH_Y_MM + 1e-6)

    @property
    def count(self) -> int:
        """Boxes in all."""
        return len(self.classes) * self.per_class

    @property
    def pages(self) -> int:
        """How many pages it takes."""
        return -(-self.count // (self.rows * self.columns))

    @property
    def field_mm(self) -> tuple[float, float]:
        """Left and right edge of what is printed between the markers."""
        spare = self.size_mm[0] - 2 * _FIELD_X_MM - self.columns * PITCH_X_MM
        return _FIELD_X_MM + spare / 2, self.size_mm[0] - _FIELD_X_MM - spare / 2

    def boxes(self, page: int) -> tuple[Box, ...]:
        """The boxes of one page, which counts from 1."""
        full = self.rows * self.columns
        margin = (PITCH_X_MM - BOX_MM) / 2
        made = []
        for place in range(min(full, self.count - (page - 1) * full)):
            row, column = divmod(place, self.columns)
            index = (page - 1) * full + place
            turns = self.order == "turns"
            made.append(
                Box(
                    number=place + 1,
                    label=index % len(self.classes) if turns else index // self.per_class,
                    row=row + 1,
                    column=column + 1,
                    x_mm=self.field_mm[0] + column * PITCH_X_MM + margin,
                    y_mm=_FIELD_TOP_MM + (row + 1) * PITCH_Y_MM - FRAME_MM - BOX_MM,
                )
            )
        return tuple(made)

    @cached_property
    def markers_mm(self) -> Real:
        """Corners of the markers of a page, the same on each.

        Returns
        -------
        ndarray of shape (12, 4, 2), float64: (x, y) of the corners clockwise from the
        upper left one; markers clockwise from the upper left one too.
        """
        return _marker_corners(self.size_mm)

    @property
    def codes_mm(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """Upper left corners of the two squares that hold the code."""
        left, right = self.field_mm
        low = self.size_mm[1] - EDGE_MM - CODE_MM
        return (right - CODE_MM, EDGE_MM), (left, low)


def marker_ids(page: int) -> range:
    """Numbers of the twelve markers of a page in the dictionary."""
    return range((page - 1) * PER_PAGE, page * PER_PAGE)


def _marker_corners(size_mm: tuple[float, float]) -> Real:
    wide, high = size_mm
    near, far_x, far_y = EDGE_MM, wide - EDGE_MM - MARKER_MM, high - EDGE_MM - MARKER_MM
    xs = np.linspace(near, far_x, 4)
    ys = np.linspace(near, far_y, 4)
    places = [(x, near) for x in xs] + [(far_x, y) for y in ys[1:]]
    places += [(x, far_y) for x in xs[-2::-1]] + [(near, y) for y in ys[-2:0:-1]]
    square = np.array([(0, 0), (1, 0), (1, 1), (0, 1)]) * MARKER_MM
    corners: Real = np.array(places)[:, None, :] + square[None]
    return corners
