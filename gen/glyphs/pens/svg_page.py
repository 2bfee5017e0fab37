"""Pages of SVG: the part of the plane that a file shows, and those within it.

References
----------
Scalable Vector Graphics (SVG) 2, W3C: sections 8.6, the viewBox, 8.7, its aspect, 8.8,
pages within the page, and 8.9, what a percentage is of (from memory).
"""

from __future__ import annotations

import math

from gen.core.errors import GlyphError
from gen.glyphs.pens.shapes import Page
from gen.glyphs.pens.transforms import Matrix, parse_length


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


def inner_page(
    where: str, attributes: dict[str, str], outer: Page | None
) -> tuple[Matrix, Page | None]:
    """How a page within the page is laid on it, and that page in its own units.

    Parameters
    ----------
    where
        The element, for errors.
    attributes
        Of the `svg`, or of a `symbol` once `use` has said how large it is.
    outer
        The page round it, which percentages are of.

    Raises
    ------
    GlyphError
        If a viewBox or a length isn't one.

    Examples
    --------
    >>> said = {"x": "10", "width": "40", "height": "20", "viewBox": "0 0 2 2"}
    >>> inner_page("tag", said, None)  # a page of 2 x 2 in the middle of 40 x 20
    (Matrix(a=10.0, b=0.0, c=0.0, d=10.0, e=20.0, f=0.0), (0.0, 0.0, 2.0, 2.0))
    """
    sides = (None, None) if outer is None else (outer[3], outer[2])
    x, y = (
        _length(where, attributes.get(key, "0"), s) or 0.0
        for key, s in zip("xy", sides, strict=True)
    )
    shown = [
        _length(where, attributes.get(key, "100%"), side)
        for key, side in zip(("width", "height"), sides, strict=True)
    ]
    wide, tall = shown
    whole = (0.0, 0.0, tall, wide) if wide is not None and tall is not None else None
    page = page_of(where, attributes) if attributes.get("viewBox", "").split() else None
    if page is None:
        return Matrix(e=x, f=y), whole
    top, left, height, width = page
    if whole is None or min(whole[2:]) <= 0:
        return Matrix(e=x - left, f=y - top), page
    scales = [whole[3] / width, whole[2] / height]
    how = attributes.get("preserveAspectRatio", "").split() or ["xMidYMid"]
    if how[0] != "none":
        scales = [max(scales) if "slice" in how else min(scales)] * 2
    free = (whole[3] - scales[0] * width, whole[2] - scales[1] * height)
    share = [_SHARES.get(word, 0.5) for word in (how[0][1:4], how[0][5:8])]
    e = x + share[0] * free[0] - scales[0] * left
    f = y + share[1] * free[1] - scales[1] * top
    return Matrix(a=scales[0], d=scales[1], e=e, f=f), page


_SHARES = {"Min": 0.0, "Mid": 0.5, "Max": 1.0}


def _length(where: str, text: str, of: float | None) -> float | None:
    """A length; None for a share of what isn't known."""
    text = text.strip()
    if text == "auto":
        text = "100%"
    return None if text.endswith("%") and of is None else parse_length(where, text, of)
