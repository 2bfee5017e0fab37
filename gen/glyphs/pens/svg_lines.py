"""Shapes of SVG, once it is known where they lie, as lines of a pen."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gen.core.errors import GlyphError
from gen.glyphs.base import Real
from gen.glyphs.pens.curves import MOST_FLAT, flattened
from gen.glyphs.pens.drawing import MOST_UNITS, Line
from gen.glyphs.pens.paths import SubPath
from gen.glyphs.pens.transforms import Matrix

_STRAY = 1e-5
"""How far chords may be from a curve, as a share of the extent of its control points."""


@dataclass(frozen=True)
class Shape:
    """A shape that is stroked.

    Attributes
    ----------
    paths
        Its strokes, in units of its own.
    matrix
        From these to units of the drawing.
    width
        Of the pen, in units of the drawing.
    """

    paths: list[SubPath]
    matrix: Matrix
    width: float


def lines_of(where: str, shapes: list[Shape]) -> tuple[tuple[Line, ...], float]:
    """Strokes as points, (y, x), and how far these may be beside the curves."""
    moved = [
        (shape, path, [shape.matrix.of(run.points) for run in path.runs])
        for shape in shapes
        for path in shape.paths
    ]
    starts = [shape.matrix.of(np.array([path.start])) for shape, path, _ in moved]
    everything = [*starts, *(run.reshape(-1, 2) for _, _, runs in moved for run in runs)]
    low = np.min([part.min(axis=0) for part in everything], axis=0)
    high = np.max([part.max(axis=0) for part in everything], axis=0)
    if not np.abs([low, high]).max() <= MOST_UNITS:
        raise GlyphError(
            where, "the drawing runs out of range", allowed=f"-{MOST_UNITS:g} to {MOST_UNITS:g}"
        )
    within = max(float((high - low).max()) * _STRAY, 1e-300)
    curved = any(run.ndim == 3 for _, _, runs in moved for run in runs)
    lines, room = [], MOST_FLAT
    for (shape, _, runs), start in zip(moved, starts, strict=True):
        parts: list[Real] = [start]
        for run in runs:
            parts.append(flattened(where, run, within, most=room) if run.ndim == 3 else run)
            room -= len(parts[-1]) if run.ndim == 3 else 0
        lines.append(Line(np.concatenate(parts)[:, ::-1], shape.width))
    return tuple(lines), within if curved else 0.0
