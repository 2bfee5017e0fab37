"""Where a drawing goes in the frame: a stated rule, never a guess.

Rules, by name:

box centred
    The box of the ink is centred, its longer side as long as asked.
centre of mass
    The same size; the centre of the ink is at the centre of the frame. Ink counts
    by length and width of the strokes; where they cross it counts twice.
as drawn
    The page that the mark was drawn on is fitted into the frame and centred, its
    aspect kept. Size and place of the mark stay what they were.

The box is that of a round pen along the strokes, so that it includes half a pen's
width on each side, exactly.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from gen.core.errors import GlyphError
from gen.glyphs.base import Real
from gen.glyphs.outline_rule import RULES, longer_side_px, room_px
from gen.glyphs.pens.drawing import Drawing
from gen.glyphs.pens.extent import box_of, centre_of

PEN_SHARE = 0.1
"""Width of a pen that nobody stated, as a share of the longer side of the box."""

_FARTHEST_PX = 1 << 14


@dataclass(frozen=True)
class PenFit:
    """How drawings are put into a frame.

    Attributes
    ----------
    frame
        (H, W) in px.
    rule
        One of `RULES`.
    side_px
        The longer side of the ink's box, for "box centred" and "centre of mass".
    pen_px
        Width of the pen in px; None to scale what the file states with the drawing.
    margin_px
        What stays free on every side of the frame, in place of a longer side.

    Examples
    --------
    >>> fit = PenFit.of(frame=(28, 28))
    >>> fit.side_px, fit.told()
    (20.0, 'box of the ink centred, its longer side 20 px; pen as each file states it')
    """

    frame: tuple[int, int]
    rule: str
    side_px: float
    pen_px: float | None
    margin_px: float | None = None

    @classmethod
    def of(
        cls,
        *,
        frame: tuple[int, int] = (28, 28),
        rule: str = RULES[0],
        side_px: float | None = None,
        pen_px: float | None = None,
        margin_px: float | None = None,
    ) -> PenFit:
        """A rule, once everything about it is known to make sense.

        Raises
        ------
        GlyphError
            If the rule is unknown, a number is out of range, or a side and a margin both
            say how large a mark is.
        """
        side = longer_side_px(rule, frame, side_px, margin_px)
        if pen_px is not None:
            most = min(frame) if rule == "as drawn" else side / 2
            real = isinstance(pen_px, int | float | np.number) and not isinstance(pen_px, bool)
            if not (real and 0 < pen_px <= most):
                fact = "the width of the pen in px is out of range"
                raise GlyphError("pen_px", fact, got=pen_px, allowed=f"over 0, up to {most:g}")
        return cls((int(frame[0]), int(frame[1])), rule, side, pen_px, margin_px)

    @property
    def room_px(self) -> tuple[float, float]:
        """What the box of the ink fits into, (height, width)."""
        return room_px(self.frame, self.side_px, self.margin_px)

    def told(self) -> str:
        """What is done, for a note."""
        side = f"its longer side {self.side_px:g} px"
        if self.margin_px is not None:
            side = f"as large as {self.margin_px:g} px free on every side allow"
        place = {
            "box centred": f"box of the ink centred, {side}",
            "centre of mass": f"centre of the ink centred, box of the ink, {side}",
            "as drawn": "the page fitted into the frame and centred",
        }[self.rule]
        pen = "as each file states it" if self.pen_px is None else f"{self.pen_px:g} px wide"
        return f"{place}; pen {pen}"


@dataclass(frozen=True)
class Placed:
    """A drawing in px of its frame.

    Attributes
    ----------
    lines
        Points of each stroke, ndarray of shape (m, 2), float64, (y, x).
    width_px
        Width of the pen along each.
    scale
        Px to a unit of the drawing.
    pen_unstated
        Whether the width of a pen had to be supposed.
    """

    lines: list[Real]
    width_px: list[float]
    scale: float
    pen_unstated: bool


def fitted(drawing: Drawing, fit: PenFit) -> Placed:
    """Put a drawing into the frame.

    Raises
    ------
    GlyphError
        If the rule asks for a page and there is none, or the mark is outside it.
    """
    unstated = fit.pen_px is None and any(line.width is None for line in drawing.lines)
    low, extent = box_of([line.points for line in drawing.lines], [0.0] * len(drawing.lines))
    if fit.rule == "as drawn":
        return _on_page(drawing, fit, unstated)
    pens: list[float]
    if fit.pen_px is not None:
        free = [room - fit.pen_px for room in fit.room_px]
        scale = min((f / e for f, e in zip(free, extent, strict=True) if e > 0), default=1.0)
        pens = [fit.pen_px] * len(drawing.lines)
    else:
        # What isn't stated is a share of the side, whatever the scale.
        supposed = PEN_SHARE * fit.side_px
        scale = _scale(drawing, fit.room_px, supposed)
        pens = [supposed if x.width is None else x.width * scale for x in drawing.lines]
    if not (math.isfinite(scale) and scale > 0):
        scale = 1.0  # a dot
    lines = [(line.points - np.array(low)) * scale for line in drawing.lines]
    if fit.rule == "box centred":
        low, extent = box_of(lines, pens)
        middle = (low[0] + extent[0] * 0.5, low[1] + extent[1] * 0.5)
    else:
        middle = centre_of(lines, pens)
    move = np.array([(side - 1) / 2 - at for side, at in zip(fit.frame, middle, strict=True)])
    return Placed([line + move for line in lines], pens, scale, unstated)


def _scale(drawing: Drawing, room_px: tuple[float, float], supposed_px: float) -> float:
    """Px to a unit, so that the box with its pens fills the room, one way or the other.

    The box grows with the scale, and does so in straight pieces where pens of stated
    and of supposed width meet; halving finds where it has the right size.
    """
    stated = [0.0 if line.width is None else line.width for line in drawing.lines]
    points = [line.points for line in drawing.lines]
    extent = box_of(points, stated)[1]
    if all(line.width is not None for line in drawing.lines):
        return min((r / e for r, e in zip(room_px, extent, strict=True) if e > 0), default=math.inf)
    low, high = 0.0, min(r / max(e, 1e-300) for r, e in zip(room_px, extent, strict=True))
    if not math.isfinite(high):
        return math.inf
    ends = [np.stack([line.points.min(axis=0), line.points.max(axis=0)]) for line in drawing.lines]
    for _ in range(200):
        middle = 0.5 * (low + high)
        if middle in (low, high):
            break
        pens = [
            supposed_px if line.width is None else line.width * middle for line in drawing.lines
        ]
        large = box_of([each * middle for each in ends], pens)[1]
        if large[0] > room_px[0] or large[1] > room_px[1]:
            high = middle
        else:
            low = middle
    return low


def _on_page(drawing: Drawing, fit: PenFit, unstated: bool) -> Placed:
    if drawing.page is None:
        raise GlyphError(
            drawing.where,
            "the file states no page that the mark was drawn on",
            allowed='for "as drawn": an SVG with a viewBox, or a width and a height',
            hint='fit by the rule "box centred" instead',
        )
    top, left, tall, wide = drawing.page
    scale = min(fit.frame[0] / tall, fit.frame[1] / wide)
    centre = np.array([top + 0.5 * tall, left + 0.5 * wide])
    middle = np.array([(side - 1) / 2 for side in fit.frame])
    supposed = PEN_SHARE * fit.side_px
    pens = [
        fit.pen_px
        if fit.pen_px is not None
        else (supposed if line.width is None else line.width * scale)
        for line in drawing.lines
    ]
    lines = [(line.points - centre) * scale + middle for line in drawing.lines]
    low, extent = box_of(lines, pens)
    outside = any(
        low[k] > fit.frame[k] - 0.5 or low[k] + extent[k] < -0.5 for k in (0, 1)
    ) or not all(abs(low[k]) + extent[k] < _FARTHEST_PX for k in (0, 1))
    if outside:
        raise GlyphError(
            drawing.where,
            "the mark lies outside its page",
            got=f"from ({low[0]:.6g}, {low[1]:.6g}) px, {extent[0]:.6g} x {extent[1]:.6g} px",
            allowed=f"some of it within {fit.frame[0]} x {fit.frame[1]} px",
            hint='fit by the rule "box centred" instead',
        )
    return Placed(lines, pens, scale, unstated)
