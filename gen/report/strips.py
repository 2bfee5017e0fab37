"""One glyph through the levels of each sweep, to stand under the axes."""

from __future__ import annotations

from collections.abc import Collection

import numpy as np

from gen.glyphs.base import Pixels, RasterGlyphs, StrokeGlyphs
from gen.render.engine import Renderer
from gen.render.plan import Plan


def strips_of(
    plan: Plan,
    glyphs: RasterGlyphs | StrokeGlyphs,
    index: int,
    *,
    leave_out: Collection[str] = (),
) -> tuple[Pixels, ...]:
    """Render one glyph at every level.

    Parameters
    ----------
    plan
        For the frame of the glyphs.
    glyphs
        The glyphs that were scored.
    index
        Which of them to show.
    leave_out
        Names of cells that are in no curve.

    Returns
    -------
    tuple of ndarray of shape (levels, H, W), uint8, ink bright; one a sweep.
    """
    block = Renderer(plan, glyphs).block(np.array([index]))
    return tuple(
        np.stack(
            [block.render(cell).images[0] for cell in sweep.cells if cell.name not in leave_out]
        )
        for sweep in plan.sweeps
    )


def typical_glyph(glyphs: RasterGlyphs | StrokeGlyphs, most: int = 256) -> int:
    """A glyph with about as much ink as most: of the first few, the one nearest their median.

    A mark that is neither faint nor heavy shows best what a level does.
    """
    plan = Plan.nominal_only(glyphs.frame)
    few = np.arange(min(most, len(glyphs)))
    images = Renderer(plan, glyphs).block(few).nominal
    ink = images.reshape(len(few), -1).sum(axis=1, dtype=np.int64)
    middle = int(np.sort(ink)[len(ink) // 2])
    return int(np.abs(ink - middle).argmin())
