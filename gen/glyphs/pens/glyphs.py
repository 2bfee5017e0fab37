"""A set of glyphs that somebody wrote with a pen that was followed."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace

import numpy as np

from gen.glyphs.base import Real, StrokeGlyphs, Strokes, Whole


@dataclass(frozen=True)
class PenGlyphs(StrokeGlyphs):
    """Glyphs read from pen files, as straight pieces in px of the frame.

    Pieces of all glyphs lie one after the other, so that one glyph with many of them
    costs the others nothing.

    Attributes
    ----------
    segments
        ndarray of shape (P, 2, 2), float64: the two ends of each piece, each (y, x).
    width_px
        ndarray of shape (P,), float64.
    first
        ndarray of shape (N + 1,), intp: where the pieces of each glyph start.
    """

    segments: Real
    width_px: Real
    first: Whole

    def strokes(self, indices: Whole) -> Strokes:
        """Strokes of the glyphs at some indices, in px of this frame.

        Parameters
        ----------
        indices
            ndarray of shape (n,), whole numbers from 0 to N - 1.

        Returns
        -------
        Strokes
            segments of shape (n, S, 2, 2) and width_px of shape (n, S), where S is what
            the glyph with the most pieces among these needs.
        """
        at = np.asarray(indices, dtype=np.intp)
        count = self.first[at + 1] - self.first[at]
        most = int(count.max()) if len(at) else 0
        step = np.minimum(np.arange(most), count[:, None] - 1)
        piece = self.first[at][:, None] + step
        return Strokes(self.segments[piece], self.width_px[piece])

    def take(self, indices: Whole) -> PenGlyphs:
        """The glyphs at some indices, in that order, with the same classes."""
        at = np.asarray(indices, dtype=np.intp)
        count = self.first[at + 1] - self.first[at]
        first = np.concatenate([[0], np.cumsum(count)]).astype(np.intp)
        piece = np.arange(first[-1]) + np.repeat(self.first[at] - first[:-1], count)
        taken = replace(
            self,
            segments=self.segments[piece],
            width_px=self.width_px[piece],
            first=first,
            labels=self.labels[at],
            writers=None if self.writers is None else self.writers[at],
        )
        return replace(taken, provenance=replace(self.provenance, digest=pen_digest(taken)))


def pen_digest(glyphs: PenGlyphs) -> str:
    """SHA-256 of frame, class names, labels and strokes, in that order."""
    told = hashlib.sha256()
    told.update(repr(("pen", glyphs.frame, glyphs.classes)).encode("utf-8"))
    told.update(glyphs.labels.astype("<i8").tobytes())
    told.update(glyphs.first.astype("<i8").tobytes())
    told.update(np.ascontiguousarray(glyphs.segments, dtype="<f8").data)
    told.update(np.ascontiguousarray(glyphs.width_px, dtype="<f8").data)
    return told.hexdigest()


def as_pieces(lines: list[Real], width_px: list[float]) -> tuple[Real, Real]:
    """Straight pieces of strokes, (P, 2, 2), and the pen along each, (P,).

    Examples
    --------
    >>> pieces, pen = as_pieces([np.zeros((1, 2)), np.ones((3, 2))], [2.0, 3.0])
    >>> pieces.shape, pen.tolist()
    ((3, 2, 2), [2.0, 3.0, 3.0])
    """
    pieces, pens = [], []
    for line, pen in zip(lines, width_px, strict=True):
        ends = np.stack([line[:-1], line[1:]], axis=1) if len(line) > 1 else line[[[0, 0]]]
        pieces.append(ends)
        pens.append(np.full(len(ends), float(pen)))
    return np.concatenate(pieces), np.concatenate(pens)
