"""Marks of no class: what a model was never taught, to see what it says all the same.

Whatever is asked for, each mark follows from the seed, the kind and its own number
alone, so any one can be made by itself, the same on every machine.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from gen.core.draws import uniforms, words
from gen.core.errors import GlyphError
from gen.glyphs.base import (
    Pixels,
    Provenance,
    RasterGlyphs,
    Real,
    StrokeGlyphs,
    Strokes,
    Whole,
    pixels_digest,
)
from gen.glyphs.strokes import CLASSES, SHAPES_VERSION, write_strokes

NO_CLASS = "none of them"
"""The one class of these marks."""
KINDS = {
    "blank": "bare paper, nothing on it",
    "noise": "every pixel any grey level, as likely as any other",
    "scribble": "one line that wanders about the frame",
    "two marks": "two of the known marks side by side, each at half the size",
    "strangers": "other characters: letters where digits are known, and the other way round",
}
"""What there is, in words."""
ALIKE = frozenset("0O1I5S2Z8B")
"""Characters that people write alike; not taken as strangers, since none could be wrong."""

_KNOTS, _BETWEEN = 9, 8
_MARGIN = 0.15
"""Share of the side that a scribble's knots keep from the edge; the line may swing out farther."""
_PEN = 2.2 / 28
_HALF = 0.55
LEAST_SIDE_PX = 8


def foreign_glyphs(
    kind: str,
    *,
    count: int,
    frame: tuple[int, int] = (28, 28),
    seed: int = 0,
    known: Sequence[str] = "0123456789",
) -> RasterGlyphs | ForeignStrokes:
    """Marks that belong to none of the classes that a model knows.

    Parameters
    ----------
    kind
        "blank", "noise", "scribble", "two marks" or "strangers"; `KINDS` says what each is.
    count
        Number of marks, at least 1.
    frame
        (H, W) in px, each at least 8.
    seed
        Whole number from 0 to 2**64 - 1.
    known
        The characters that the model knows, from 0-9 and A-Z. Two marks are two of these;
        strangers are the others, but for those that people write alike, such as 0 and O.

    Returns
    -------
    RasterGlyphs or ForeignStrokes
        Pictures for blank and noise, strokes for the others; all of the one class
        "none of them".

    Raises
    ------
    GlyphError
        If there is no such kind, a number is out of range, or no stranger is left.

    Examples
    --------
    >>> marks = foreign_glyphs("scribble", count=5, seed=3)
    >>> len(marks), marks.classes, marks.strokes(np.array([4])).segments.shape
    (5, ('none of them',), (1, 64, 2, 2))
    >>> int(foreign_glyphs("blank", count=2).images.max())
    0
    """
    _check(kind, count, frame, seed)
    numbers = np.arange(count, dtype=np.intp)
    labels = np.zeros(count, np.intp)
    name = f"marks of no class: {kind}"
    if kind in ("blank", "noise"):
        images = (
            _noise(numbers, frame, seed) if kind == "noise" else np.zeros((count, *frame), "u1")
        )
        told = Provenance("array", name, pixels_digest(images, labels, (NO_CLASS,)))
        return RasterGlyphs(frame, labels, (NO_CLASS,), told, None, images)
    written = _characters(kind, known)
    digest = _digest(kind, numbers, frame, seed, written)
    told = Provenance("strokes", name, digest, notes=(KINDS[kind],))
    return ForeignStrokes(
        frame,
        labels,
        (NO_CLASS,),
        told,
        None,
        kind=kind,
        numbers=numbers,
        seed=seed,
        written=written,
    )


@dataclass(frozen=True)
class ForeignStrokes(StrokeGlyphs):
    """Strokes of no class.

    Attributes
    ----------
    kind
        "scribble", "two marks" or "strangers".
    numbers
        ndarray of shape (N,), intp: the address of each; with the seed it decides everything.
    seed
        The seed.
    written
        The characters that are written.
    """

    kind: str
    numbers: Whole
    seed: int
    written: tuple[str, ...]

    def strokes(self, indices: Whole) -> Strokes:
        """Strokes of the marks at some indices, in px of this frame."""
        numbers = self.numbers[np.asarray(indices, dtype=np.intp)]
        if self.kind == "scribble":
            return _scribbles(numbers, self.frame, self.seed)
        if self.kind == "strangers":
            return self._written(numbers)
        return self._side_by_side(numbers)

    def take(self, indices: Whole) -> ForeignStrokes:
        """The marks at some indices, in that order."""
        numbers = self.numbers[np.asarray(indices, dtype=np.intp)]
        digest = _digest(self.kind, numbers, self.frame, self.seed, self.written)
        return replace(
            self,
            numbers=numbers,
            labels=np.zeros(len(numbers), np.intp),
            provenance=replace(self.provenance, digest=digest),
        )

    def _written(self, numbers: Whole) -> Strokes:
        last = int(numbers.max(initial=0)) + 1
        hand = write_strokes(classes=self.written, count=last, frame=self.frame, seed=self.seed)
        return hand.strokes(numbers)

    def _side_by_side(self, numbers: Whole) -> Strokes:
        """Of each pair of written marks one to the left and one to the right, reduced."""
        # A drawn step between the two, so that a mark stands beside any other and itself.
        step = words(self.seed, "two marks", numbers)[:, 0] % np.uint64(len(self.written))
        second = numbers * 2 + step.astype(np.intp)
        parts = [self._written(each) for each in (numbers * 2, second)]
        middle = np.array([(self.frame[0] - 1) / 2, (self.frame[1] - 1) / 2])
        aside = np.array([0.0, self.frame[1] / 4])
        segments = [
            middle + way * aside + _HALF * (part.segments - middle)
            for way, part in zip((-1, 1), parts, strict=True)
        ]
        width = [part.width_px * _HALF for part in parts]
        return Strokes(np.concatenate(segments, axis=1), np.concatenate(width, axis=1))


def _noise(numbers: Whole, frame: tuple[int, int], seed: int) -> Pixels:
    """A byte of each of the drawn words a pixel."""
    pixels = frame[0] * frame[1]
    drawn = words(seed, "foreign noise", numbers, count=-(-pixels // 8))
    shifts = np.arange(0, 64, 8, dtype=np.uint64)
    byte = (drawn[:, :, None] >> shifts) & np.uint64(255)
    return byte.astype(np.uint8).reshape(len(numbers), -1)[:, :pixels].reshape(-1, *frame)


def _scribbles(numbers: Whole, frame: tuple[int, int], seed: int) -> Strokes:
    """A smooth line through drawn knots: a Catmull-Rom spline, straight between its points."""
    drawn = uniforms(seed, "scribble", numbers, count=2 * _KNOTS + 1)
    side = np.array(frame, dtype=float)
    spread = drawn[:, : 2 * _KNOTS].reshape(-1, _KNOTS, 2)
    knots = (_MARGIN + (1 - 2 * _MARGIN) * spread) * side - 0.5
    points = _spline(knots)
    pen = _PEN * min(frame) * (0.75 + 0.5 * drawn[:, -1:])
    # Where the line swings out of the frame it is held to the edge, wholly inside with its pen.
    room = 0.5 * pen[:, :, None]
    points = np.minimum(np.maximum(points, room - 0.5), side - 0.5 - room)
    segments = np.stack([points[:, :-1], points[:, 1:]], axis=2)
    return Strokes(segments, np.repeat(pen, segments.shape[1], axis=1))


def _spline(knots: Real) -> Real:
    """Points along the curve through knots (n, k, 2); its ends are those of the knots."""
    ends = (2 * knots[:, :1] - knots[:, 1:2], 2 * knots[:, -1:] - knots[:, -2:-1])
    through = np.concatenate([ends[0], knots, ends[1]], axis=1)
    t = (np.arange(_BETWEEN) / _BETWEEN)[:, None]
    before, here, there, after = (
        through[:, start : start + _KNOTS - 1, None] for start in range(4)
    )
    slope, bend = (there - before) / 2, before - 2.5 * here + 2 * there - after / 2
    twist = (after - before) / 2 + 1.5 * (here - there)
    curve = ((twist * t + bend) * t + slope) * t + here
    flat = curve.reshape(len(knots), -1, 2)
    return np.concatenate([flat, knots[:, -1:]], axis=1)


def _characters(kind: str, known: Sequence[str]) -> tuple[str, ...]:
    """The characters that a kind writes."""
    names = tuple(known)
    strange = [name for name in names if name not in CLASSES]
    if strange:
        got = ", ".join(map(repr, strange))
        raise GlyphError(_WHERE, "a class that no hand writes", got=got, allowed="".join(CLASSES))
    if kind == "scribble":
        return ()
    if kind == "two marks" and names:
        return names
    others = tuple(name for name in CLASSES if name not in names and name not in ALIKE)
    if kind == "two marks" or not others:
        raise GlyphError(
            _WHERE, f"there is nothing to write for {kind!r}", got="".join(names) or "no classes"
        )
    return others


_WHERE = "marks of no class"


def _check(kind: str, count: int, frame: tuple[int, int], seed: int) -> None:
    if kind not in KINDS:
        allowed = ", ".join(f'"{name}"' for name in KINDS)
        raise GlyphError(_WHERE, "there is no such kind", got=repr(kind), allowed=allowed)
    for fact, value, low, high in (
        ("the number of marks", count, 1, 2**31),
        ("the seed", seed, 0, 2**64 - 1),
        ("the height of the frame in px", frame[0], LEAST_SIDE_PX, 4096),
        ("the width of the frame in px", frame[1], LEAST_SIDE_PX, 4096),
    ):
        whole = isinstance(value, int | np.integer) and not isinstance(value, bool)
        if not (whole and low <= value <= high):
            allowed = f"a whole number from {low} to {high}"
            raise GlyphError(_WHERE, f"{fact} is out of range", got=repr(value), allowed=allowed)


def _digest(
    kind: str, numbers: Whole, frame: tuple[int, int], seed: int, written: tuple[str, ...]
) -> str:
    """SHA-256 of all that decides the strokes."""
    told = hashlib.sha256()
    side = (int(frame[0]), int(frame[1]))
    told.update(repr((kind, SHAPES_VERSION, side, int(seed), written)).encode("ascii"))
    told.update(numbers.astype("<i8").tobytes())
    return told.hexdigest()
