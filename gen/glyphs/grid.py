"""One large picture with a grid of glyphs in it, cut where the person says."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from gen.core.errors import GlyphError
from gen.glyphs.base import Pixels
from gen.glyphs.found import Found
from gen.glyphs.picture import read_picture
from gen.glyphs.polarity import composited

_TEXT = re.compile(
    r"\s*(\d{1,5})\s*x\s*(\d{1,5})\s*"
    r"(?:,\s*gutter\s+(\d{1,5})(?:\s*px)?\s*)?"
    r"(?:,\s*margin\s+(\d{1,5})(?:\s*px)?\s*)?",
    re.IGNORECASE,
)
LINES = ("rows", "columns")
"""What may stand for labels: each row, or each column, is a class."""


@dataclass(frozen=True)
class Grid:
    """How a picture is cut into equal cells.

    Attributes
    ----------
    rows, columns
        Cells down and across.
    gutter_px
        What lies between two cells, px.
    margin_px
        What lies round all of them, px.

    Examples
    --------
    >>> Grid.of("10x20, gutter 2, margin 4")
    Grid(rows=10, columns=20, gutter_px=2, margin_px=4)
    """

    rows: int
    columns: int
    gutter_px: int = 0
    margin_px: int = 0

    @classmethod
    def of(cls, text: str) -> Grid:
        """Read it from a text: "ROWSxCOLUMNS", then ", gutter PX" and ", margin PX".

        Raises
        ------
        GlyphError
            If it is written otherwise, or has no cells.
        """
        found = _TEXT.fullmatch(text)
        if found is None or 0 in (int(found[1]), int(found[2])):
            raise GlyphError(
                "grid",
                "this says no grid",
                got=repr(text),
                allowed='rows x columns, such as "10x20" or "10x20, gutter 2, margin 4" in px',
            )
        return cls(int(found[1]), int(found[2]), int(found[3] or 0), int(found[4] or 0))

    def cell(self, where: str, size: tuple[int, int]) -> tuple[int, int]:
        """Height and width of a cell in a picture of this size, px.

        Raises
        ------
        GlyphError
            If cells can't be equal, or are nothing.
        """
        sides = []
        for word, length, count in (
            ("rows", size[0], self.rows),
            ("columns", size[1], self.columns),
        ):
            free = length - 2 * self.margin_px - (count - 1) * self.gutter_px
            if free < count or free % count:
                left = f"leaves {free} px for {count} {word}"
                raise GlyphError(
                    where,
                    f"the picture can't be cut into {count} equal {word}",
                    got=f"{size[0]} x {size[1]} px, which {left}",
                    allowed=f"a whole number of px to each of the {word}",
                    hint='say what lies between cells and round them ("10x20, gutter 2, margin 4")',
                )
            sides.append(free // count)
        return sides[0], sides[1]

    def cut(self, where: str, picture: Pixels) -> Pixels:
        """The cells in reading order, ndarray of shape (rows * columns, h, w), uint8.

        Examples
        --------
        >>> sheet = np.arange(15, dtype=np.uint8).reshape(3, 5)
        >>> Grid(1, 2, gutter_px=1, margin_px=1).cut("sheet", sheet).tolist()
        [[[6]], [[8]]]
        """
        height, width = self.cell(where, (picture.shape[0], picture.shape[1]))
        down, across = height + self.gutter_px, width + self.gutter_px
        y = self.margin_px + np.arange(self.rows)[:, None] * down + np.arange(height)
        x = self.margin_px + np.arange(self.columns)[:, None] * across + np.arange(width)
        cells = picture[y[:, None, :, None], x[None, :, None, :]]
        return np.ascontiguousarray(cells.reshape(-1, height, width))


def read_grid(path: Path, grid: Grid, *, lines: str | None = None) -> Found:
    """Read the glyphs of one large picture.

    Parameters
    ----------
    path
        The picture.
    grid
        How it is cut.
    lines
        "rows" or "columns" where each of them is a class; None when labels come otherwise.

    Raises
    ------
    GlyphError
        If the picture can't be read or cut.
    """
    picture = read_picture(path)
    grey = picture.grey[None]
    notes = [done for done in picture.done if done != "transparency"]
    if picture.alpha is not None:
        notes.append(f"transparency laid on {composited(grey, {0: picture.alpha})}")
    images = grid.cut(str(path), grey[0])
    height, width = images.shape[1:]
    said = f"cut into {grid.rows} x {grid.columns} cells of {height} x {width} px"
    said += f", {grid.gutter_px} px between them" if grid.gutter_px else ""
    said += f", {grid.margin_px} px round them" if grid.margin_px else ""
    labels = None
    if lines is not None:
        row, column = np.divmod(np.arange(len(images)), grid.columns)
        labels = row if lines == "rows" else column
        said += f"; each {lines[:-1]} is a class"
    return Found("grid", images, labels, notes=(said, *notes))
