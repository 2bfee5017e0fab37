"""What the pen does: to strokes themselves, and to pictures of them."""

from __future__ import annotations

import numpy as np

from gen.glyphs.base import Pixels, Strokes, Whole
from gen.perturb.base import DryPen, WidthChange

InkChange = WidthChange | DryPen
"""The effects of the first station."""


def inked_strokes(strokes: Strokes, effect: InkChange, *, seed: int, indices: Whole) -> Strokes:
    """The same strokes from another pen; a pen can't be narrower than nothing."""
    if isinstance(effect, DryPen):
        from gen.render.dry_strokes import dry_strokes

        return dry_strokes(strokes, effect, seed=seed, indices=indices)
    if effect.ratio is not None:
        return Strokes(strokes.segments, strokes.width_px * effect.ratio)
    return Strokes(strokes.segments, np.maximum(strokes.width_px + effect.added_px, 0.0))


def inked_pictures(images: Pixels, effect: InkChange, *, seed: int, indices: Whole) -> Pixels:
    """The same pictures from another pen."""
    if isinstance(effect, DryPen):
        from gen.render.dry_picture import dry_picture

        return dry_picture(images, effect, seed=seed, indices=indices)
    from gen.glyphs.width import change_width, scale_width

    if effect.ratio is not None:
        return scale_width(images, effect.ratio)
    return change_width(images, effect.added_px)
