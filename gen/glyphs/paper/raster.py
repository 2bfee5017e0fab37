"""Pages of rectangles, lines and words as pictures."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from gen.glyphs.paper.drawing import Block, Line, Shape, Words
from gen.glyphs.paper.pdf import POINT_MM

if TYPE_CHECKING:
    from PIL import Image, ImageDraw

DPI = 300
_FINER = 2
"""Drawn so many times finer and reduced by area: an edge is within 0.02 mm of its place."""


def page_picture(
    shapes: Sequence[Shape], size_mm: tuple[float, float], *, dpi: int = DPI
) -> Image.Image:
    """One page as a grey picture of `dpi` pixels an inch."""
    from PIL import Image, ImageDraw

    px = dpi * _FINER / 25.4
    small = tuple(round(side * dpi / 25.4) for side in size_mm)
    page = Image.new("L", (small[0] * _FINER, small[1] * _FINER), 255)
    pen = ImageDraw.Draw(page)
    for shape in shapes:
        fill = round(255 * (1 - shape.darkness))
        if isinstance(shape, Block):
            x0, y0 = shape.x_mm * px, shape.y_mm * px
            x1, y1 = x0 + shape.width_mm * px, y0 + shape.height_mm * px
            pen.rectangle((round(x0), round(y0), round(x1) - 1, round(y1) - 1), fill=fill)
        elif isinstance(shape, Line):
            pen.polygon(_band(shape, px), fill=fill)
        else:
            _write(pen, shape, px, fill)
    return page.reduce(_FINER)


def _band(line: Line, px: float) -> list[tuple[int, int]]:
    """The corners of a line with its width, in whole pixels that are all inside."""
    (x0, y0), (x1, y1) = line.start_mm, line.end_mm
    long = math.hypot(x1 - x0, y1 - y0)
    dx, dy = (y0 - y1) / long * line.width_mm / 2, (x1 - x0) / long * line.width_mm / 2
    corners = [(x0 + dx, y0 + dy), (x0 - dx, y0 - dy), (x1 - dx, y1 - dy), (x1 + dx, y1 + dy)]
    # A polygon takes the pixels of its corners in: half a pixel less on each side.
    middle_x, middle_y = (x0 + x1) / 2, (y0 + y1) / 2
    return [
        (
            round(x * px - 0.5 - math.copysign(0.5, x - middle_x)),
            round(y * px - 0.5 - math.copysign(0.5, y - middle_y)),
        )
        for x, y in corners
    ]


def _write(pen: ImageDraw.ImageDraw, words: Words, px: float, fill: int) -> None:
    from PIL import ImageFont

    size = words.size_pt * POINT_MM * px
    font = ImageFont.load_default(size)
    long = font.getlength(words.text)
    if words.most_mm is not None and long > words.most_mm * px:
        font = ImageFont.load_default(size * words.most_mm * px / long)
    anchor = {"left": "ls", "middle": "ms", "right": "rs"}[words.at]
    at = (words.x_mm * px, words.baseline_mm * px)
    pen.text(at, words.text, fill=fill, font=font, anchor=anchor)
