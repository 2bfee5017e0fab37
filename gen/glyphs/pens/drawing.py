"""What a reader of pen files hands over: lines of a pen, in units of the file."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field

from gen.glyphs.base import Real

MOST_UNITS = 1e9
"""Coordinates beyond this are refused: nobody draws there, and digits are lost."""


@dataclass(frozen=True)
class Line:
    """One stroke: the pen goes down, moves and is lifted.

    Attributes
    ----------
    points
        ndarray of shape (m, 2), float64, m at least 1: (y, x) in units of the
        drawing, +y down.
    width
        Width of the pen in the same units; None where the file doesn't state it.
    """

    points: Real
    width: float | None


@dataclass(frozen=True)
class Drawing:
    """One mark as a file has it.

    Attributes
    ----------
    where
        File and line, for errors.
    lines
        Its strokes.
    label, writer
        As the file states them; None where it doesn't.
    page
        (top, left, height, width) of the page that it was drawn on, in units of the
        drawing; None where there is none.
    strayed
        How far the points may lie beside the curves they stand for, in units.
    """

    where: str
    lines: tuple[Line, ...]
    label: str | None = None
    writer: str | None = None
    page: tuple[float, float, float, float] | None = None
    strayed: float = 0.0


@dataclass(frozen=True)
class Pages:
    """All marks of one file, and what was left out of it.

    Attributes
    ----------
    kind
        "InkML" or "SVG".
    drawings
        The marks, in the order of the file.
    dropped
        What was not read, counted by what it was.
    offers
        What there is in place of labels, for the error of a file without them.
    """

    kind: str
    drawings: list[Drawing]
    dropped: Counter[str] = field(default_factory=Counter)
    offers: str | None = None
