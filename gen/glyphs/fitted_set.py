"""A whole set fitted into one frame, and what has to be said of it."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from gen.glyphs.base import Pixels
from gen.glyphs.fit import Fit, Fitted, fit_pictures
from gen.glyphs.mapped import LARGE, pieces_of, spooled

_NAMED = 5
_LOST = 0.005
"""Share of ink outside the frame from which on a picture is named."""
_BELIEVED = 0.5


def fitted_in_pieces(images: Pixels, fit: Fit) -> Iterator[Fitted]:
    """Pictures of one size in the frame, some at a time."""
    for part in pieces_of(images):
        yield fit_pictures(images[part], fit)


def gathered(made: Iterator[Fitted], count: int, fit: Fit) -> tuple[Pixels, tuple[str, ...]]:
    """All the pictures in one array, and notes on what fitting did to them.

    Parameters
    ----------
    made
        Some pictures in their frame, again and again, `count` in all.
    count
        How many there are.
    fit
        The rule.

    Returns
    -------
    tuple
        ndarray of shape (count, H, W), uint8, on disk if it is large; and notes.
    """
    told = _Told(count)
    shape = (count, *fit.frame)
    if count * fit.frame[0] * fit.frame[1] >= LARGE:
        return spooled((told.of(some).images for some in made), shape), told.notes(fit)
    images, start = np.empty(shape, np.uint8), 0
    for some in made:
        images[start : start + len(some.images)] = told.of(some).images
        start += len(some.images)
    return images, told.notes(fit)


class _Told:
    """What became of each picture, put down as they pass."""

    def __init__(self, count: int) -> None:
        self._ratio, self._lost = np.empty(count), np.empty(count)
        self._filled, self._bare = np.empty(count, bool), np.empty(count, bool)
        self._seen = 0

    def of(self, some: Fitted) -> Fitted:
        part = slice(self._seen, self._seen + len(some.images))
        self._ratio[part], self._lost[part] = some.ratio, some.lost
        self._filled[part] = some.filled
        self._bare[part] = ~some.images.any(axis=(1, 2))
        self._seen += len(some.images)
        return some

    def notes(self, fit: Fit) -> tuple[str, ...]:
        low, high = float(self._ratio.min()), float(self._ratio.max())
        by = f"{low:.3g}" if f"{low:.3g}" == f"{high:.3g}" else f"{low:.3g} to {high:.3g}"
        notes = [f"{fit.said()}; resized by {by}"]
        larger, count = int((self._ratio > 1 + 1e-9).sum()), len(self._ratio)
        if larger:
            how = "each pixel stays a square"
            if fit.stroke != "scaled":
                how = "linear between pixels where the width of strokes changes, else squares"
            notes.append(f"{larger:,} of {count:,} pictures enlarged: {how}")
        lost = np.flatnonzero(self._lost > _LOST)
        if len(lost):
            few = ", ".join(str(place) for place in lost[:_NAMED])
            few += " ..." if len(lost) > _NAMED else ""
            most = 100 * float(self._lost.max())
            notes.append(
                f"ink of {len(lost):,} of {count:,} pictures leaves the frame, at most "
                f"{most:.0f} % of it: numbers {few}"
            )
        if fit.ink_from > 1 and self._bare.any():
            notes.append(
                f"{int(self._bare.sum()):,} of {count:,} pictures have no ink from grey "
                f"{fit.ink_from} of 255 on, and are bare"
            )
        if fit.rule != "as drawn" and self._filled.mean() > _BELIEVED:
            notes.append(
                f"in {int(self._filled.sum()):,} of {count:,} pictures the ink reaches all four "
                "edges, so the whole picture was taken for the mark: if that is paper, say from "
                "which grey on a pixel is ink (--ink-from GREY, or ink_from= in Python)"
            )
        return tuple(notes)
