"""What a set of glyphs is, whatever it came from.

Conventions, for the whole package: arrays are indexed (y, x); whole numbers are
pixel centres, so the centre of a frame of H rows is (H - 1) / 2; +y is down;
pixels count ink, 0 for bare paper and 255 for full ink.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

Pixels = NDArray[np.uint8]
Whole = NDArray[np.intp]
Real = NDArray[np.float64]


@dataclass(frozen=True)
class Provenance:
    """Where a glyph set came from and what was understood of it.

    Attributes
    ----------
    kind
        "strokes", "IDX", "npz", "folder", "table", "grid", "array" and so on.
    name
        What the person named: a path, or "strokes".
    digest
        SHA-256 that pins the glyphs: of frame, classes, labels and pixels, or of
        whatever the strokes are drawn from.
    ink
        "bright" or "dark": how the source itself shows ink. Inside the package
        ink is always bright.
    notes
        What was found and done, a line each: polarity, pictures dropped, and so on.
    values
        The range that pixels were understood to have in the source, "0..255"; empty for
        what is no picture there.
    """

    kind: str
    name: str
    digest: str
    ink: str = "bright"
    notes: tuple[str, ...] = ()
    values: str = ""


@dataclass(frozen=True)
class Strokes:
    """Pen strokes of some glyphs, as straight pieces with a round pen.

    Attributes
    ----------
    segments
        ndarray of shape (n, S, 2, 2), float64: the two ends of each piece, each
        (y, x) in px. A glyph with fewer pieces repeats its last one.
    width_px
        ndarray of shape (n, S), float64: width of the pen along each piece, px.
    """

    segments: Real
    width_px: Real


@dataclass(frozen=True)
class Glyphs:
    """Labelled glyphs in one frame: the part that both kinds share.

    Attributes
    ----------
    frame
        (H, W) in px.
    labels
        ndarray of shape (N,), intp: index into `classes`.
    classes
        The class names.
    provenance
        Where they came from.
    writers
        ndarray of shape (N,), intp, who wrote each; None when that isn't known.
    """

    frame: tuple[int, int]
    labels: Whole
    classes: tuple[str, ...]
    provenance: Provenance
    writers: Whole | None

    def __len__(self) -> int:
        return len(self.labels)

    @property
    def counts(self) -> Whole:
        """Glyphs of each class, ndarray of shape (len(classes),)."""
        return np.bincount(self.labels, minlength=len(self.classes))


@dataclass(frozen=True)
class RasterGlyphs(Glyphs):
    """Glyphs that are pictures.

    Attributes
    ----------
    images
        ndarray of shape (N, H, W), uint8, ink bright.
    """

    images: Pixels

    def take(self, indices: Whole) -> RasterGlyphs:
        """The glyphs at some indices, in that order, with the same classes."""
        from gen.glyphs.mapped import taken

        return replace(
            self,
            images=taken(self.images, indices),
            labels=self.labels[indices],
            writers=None if self.writers is None else self.writers[indices],
        )


@dataclass(frozen=True)
class StrokeGlyphs(Glyphs):
    """Glyphs that are pen strokes, drawn when they are asked for.

    A subclass gives `strokes` and `take`. Stroke sets make any glyph alone, so N may be
    large without costing memory.
    """

    def strokes(self, indices: Whole) -> Strokes:
        """Strokes of the glyphs at some indices, in px of this frame."""
        raise NotImplementedError

    def take(self, indices: Whole) -> StrokeGlyphs:
        """The glyphs at some indices, in that order, with a digest of their own."""
        raise NotImplementedError


def pixels_digest(images: Pixels, labels: Whole, classes: tuple[str, ...]) -> str:
    """SHA-256 of frame, class names, labels and pixels, in that order.

    Parameters
    ----------
    images
        ndarray of shape (N, H, W), uint8.
    labels
        ndarray of shape (N,).
    classes
        Class names.
    """
    told = hashlib.sha256()
    told.update(repr((tuple(images.shape), tuple(classes))).encode("utf-8"))
    told.update(labels.astype("<i8").tobytes())
    from gen.glyphs.mapped import pieces_of

    for part in pieces_of(images):
        told.update(np.ascontiguousarray(images[part]).data)
    return told.hexdigest()
