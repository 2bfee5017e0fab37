"""The basic shapes of SVG as the paths that the standard says they are.

References
----------
SVG 2 (W3C), chapter 10, "Basic Shapes": each has its equivalent path.
"""

from __future__ import annotations

import math
import re
from itertools import pairwise

import numpy as np

from gen.core.errors import GlyphError
from gen.glyphs.base import Real
from gen.glyphs.pens.curves import cubic_of_arc
from gen.glyphs.pens.paths import Run, SubPath, parse_path
from gen.glyphs.pens.transforms import parse_length

SHAPES = ("path", "line", "polyline", "polygon", "rect", "circle", "ellipse")
_ANY_LETTER = re.compile(r"[A-Za-df-z]|\A\s*[Ee]")

Page = tuple[float, float, float, float]


def parse_shape(
    where: str, name: str, attributes: dict[str, str], page: Page | None
) -> list[SubPath]:
    """The strokes of a shape, (x, y) in its own units; none where it isn't drawn.

    Parameters
    ----------
    where
        The element, for errors.
    name
        One of `SHAPES`.
    attributes
        Of the element.
    page
        (top, left, height, width), for lengths in percent.

    Examples
    --------
    >>> (ring,) = parse_shape("tag", "circle", {"r": "2"}, None)
    >>> ring.start, len(ring.runs)
    ((2.0, 0.0), 4)
    """
    if name == "path":
        return parse_path(where, attributes.get("d", ""))
    if name in ("polyline", "polygon"):
        return _poly(where, attributes.get("points", ""), closed=name == "polygon")
    sides = (None, None) if page is None else (page[3], page[2])
    diagonal = None if page is None else math.sqrt((page[2] ** 2 + page[3] ** 2) / 2)

    def length(key: str, of: float | None, default: float = 0.0) -> float:
        text = attributes.get(key, "").strip()
        return default if text in ("", "auto") else parse_length(where, text, of)

    if name == "line":
        start, end = ((length(f"x{k}", sides[0]), length(f"y{k}", sides[1])) for k in (1, 2))
        return [SubPath(start, [Run(np.array([end]))])]
    rx, ry = length("rx", sides[0], -1.0), length("ry", sides[1], -1.0)
    radii = (ry if rx < 0 else rx), (rx if ry < 0 else ry)  # one stands for both
    if name == "rect":
        wide, tall = length("width", sides[0]), length("height", sides[1])
        corner = min(max(radii[0], 0.0), wide / 2), min(max(radii[1], 0.0), tall / 2)
        at = length("x", sides[0]), length("y", sides[1])
        return [_rect(*at, wide, tall, corner)] if min(wide, tall) > 0 else []
    if name == "circle":
        radii = (length("r", diagonal),) * 2
    middle = length("cx", sides[0]), length("cy", sides[1])
    return [_ellipse(*middle, *radii)] if min(radii) > 0 else []


def _poly(where: str, text: str, *, closed: bool) -> list[SubPath]:
    if not text.strip():
        return []
    if _ANY_LETTER.search(text):
        raise GlyphError(where, "not a list of points", got=repr(text[:40]))
    return parse_path(where, f"M{text}" + ("z" if closed else ""))


def _ellipse(x: float, y: float, rx: float, ry: float) -> SubPath:
    corners = [(x + rx, y), (x, y + ry), (x - rx, y), (x, y - ry), (x + rx, y)]
    return _quarters(corners, rx, ry)


def _quarters(corners: list[tuple[float, float]], rx: float, ry: float) -> SubPath:
    ring = SubPath(corners[0])
    for start, end in pairwise(corners):
        ring.runs.append(Run(cubic_of_arc(start, (rx, ry), end)))
    return ring


def _rect(x: float, y: float, wide: float, tall: float, corner: tuple[float, float]) -> SubPath:
    rx, ry = corner
    right, low = x + wide, y + tall
    if rx == 0 or ry == 0:
        around = np.array([[right, y], [right, low], [x, low], [x, y]])
        return SubPath((x, y), [Run(around)])
    path = SubPath((x + rx, y))
    sides: list[tuple[tuple[float, float], tuple[float, float]]] = [
        ((right - rx, y), (right, y + ry)),
        ((right, low - ry), (right - rx, low)),
        ((x + rx, low), (x, low - ry)),
        ((x, y + ry), (x + rx, y)),
    ]
    for straight, round_end in sides:
        path.runs.append(Run(_point(straight)))
        path.runs.append(Run(cubic_of_arc(straight, corner, round_end)))
    return path


def _point(at: tuple[float, float]) -> Real:
    return np.array([at])
