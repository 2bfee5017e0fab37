"""The page of an SVG file: the part of the plane that it shows.

References
----------
Scalable Vector Graphics (SVG) 2, W3C: sections 8.6, the viewBox, 8.7, its aspect, and 8.9,
what a percentage is of (from memory).
"""

from __future__ import annotations

import math

from gen.core.errors import GlyphError
from gen.glyphs.pens.shapes import Page
from gen.glyphs.pens.transforms import parse_length


def page_of(where: str, attributes: dict[str, str]) -> Page | None:
    """(top, left, height, width) of the page in user units; None where none is stated.

    Raises
    ------
    GlyphError
        If a viewBox or a length isn't one.

    Examples
    --------
    >>> page_of("tag", {"viewBox": "1 2 30 40"}), page_of("tag", {"width": "100%"})
    ((2.0, 1.0, 40.0, 30.0), None)
    """
    box = attributes.get("viewBox", "").replace(",", " ").split()
    if box:
        if len(box) != 4:
            raise GlyphError(
                where, "not a viewBox", got=repr(attributes["viewBox"][:40]), allowed="four numbers"
            )
        left, top, wide, tall = (parse_length(where, one, None) for one in box)
    else:
        sides = [attributes.get(key, "100%").strip() for key in ("width", "height")]
        if any(side.endswith("%") or side == "auto" for side in sides):
            return None
        left, top = 0.0, 0.0
        wide, tall = (parse_length(where, side, None) for side in sides)
    return (top, left, tall, wide) if wide > 0 and tall > 0 else None


def is_stretched(where: str, attributes: dict[str, str], page: Page | None) -> bool:
    """Whether the page is shown in another aspect than it was drawn in."""
    said = attributes.get("preserveAspectRatio", "").split()
    if page is None or said[:1] != ["none"] or "viewBox" not in attributes:
        return False
    shown = page_of(
        where, {key: attributes[key] for key in ("width", "height") if key in attributes}
    )
    return shown is not None and abs(shown[2] * page[3] - shown[3] * page[2]) > 1e-6 * (
        shown[2] * page[3]
    )


def diagonal_of(page: Page) -> float:
    """What a percentage is of that goes neither along nor across, such as a pen's width.

    Examples
    --------
    >>> diagonal_of((0.0, 0.0, 70.0, 10.0))
    50.0
    """
    return math.sqrt((page[2] * page[2] + page[3] * page[3]) / 2)
