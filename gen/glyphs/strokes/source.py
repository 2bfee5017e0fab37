"""A set of written glyphs, as the rest of the package sees it."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

import numpy as np

from gen.core.errors import GlyphError
from gen.glyphs.base import Provenance, StrokeGlyphs, Strokes, Whole
from gen.glyphs.strokes.hands import HANDS
from gen.glyphs.strokes.people import crowd
from gen.glyphs.strokes.shape import CLASSES, PATHS, PIECES
from gen.glyphs.strokes.write import AT_ONCE, write_block

SHAPES_VERSION = 1
"""Raised when the code that writes gives other bits from the same paths and hands."""

LEAST_SIDE_PX = 8


@dataclass(frozen=True)
class WrittenGlyphs(StrokeGlyphs):
    """Glyphs written with the built-in strokes.

    Attributes
    ----------
    numbers
        ndarray of shape (N,), intp: the address of each glyph; with the seed it
        decides everything about it.
    seed
        The seed.
    people
        How many writers take turns.
    """

    numbers: Whole
    seed: int
    people: int

    def strokes(self, indices: Whole) -> Strokes:
        """Strokes of the glyphs at some indices, in px of this frame.

        Parameters
        ----------
        indices
            ndarray of shape (n,), whole numbers from 0 to N - 1.

        Returns
        -------
        Strokes
            segments of shape (n, 55, 2, 2) and width_px of shape (n, 55), float64.

        Examples
        --------
        >>> some = write_strokes(classes="AB7", count=9).strokes(np.array([8, 0]))
        >>> some.segments.shape, some.width_px.shape
        ((2, 55, 2, 2), (2, 55))
        """
        at = np.asarray(indices, dtype=np.intp)
        segments = np.empty((len(at), PIECES, 2, 2))
        width_px = np.empty((len(at), PIECES))
        people = crowd(self.seed, self.people, self.classes)
        assert self.writers is not None
        for start in range(0, len(at), AT_ONCE):
            part = at[start : start + AT_ONCE]
            here = slice(start, start + len(part))
            segments[here], width_px[here] = write_block(
                self.numbers[part],
                self.labels[part],
                self.writers[part],
                seed=self.seed,
                classes=self.classes,
                people=people,
                frame=self.frame,
            )
        return Strokes(segments, width_px)

    @property
    def hands(self) -> tuple[str, ...]:
        """Name of the hand of each writer, one for each of `people`."""
        return tuple(HANDS[writer % len(HANDS)].name for writer in range(self.people))

    def take(self, indices: Whole) -> WrittenGlyphs:
        """The glyphs at some indices, in that order, with the same classes.

        Examples
        --------
        >>> write_strokes(classes="01", count=6).take(np.array([5, 2])).labels
        array([1, 0])
        """
        at = np.asarray(indices, dtype=np.intp)
        assert self.writers is not None
        numbers = self.numbers[at]
        digest = _digest(numbers, self.frame, self.classes, self.seed, self.people)
        return replace(
            self,
            numbers=numbers,
            labels=self.labels[at],
            writers=self.writers[at],
            provenance=replace(self.provenance, digest=digest),
        )


def write_strokes(
    *,
    classes: Sequence[str] = "0123456789",
    count: int,
    frame: tuple[int, int] = (28, 28),
    seed: int = 0,
    writers: int = 24,
) -> WrittenGlyphs:
    """Write labelled glyphs by hand: nothing is drawn until its strokes are asked for.

    Glyph i is of class ``i % len(classes)``; the writers take turns, each writing all
    the classes once. Everything about glyph i follows from (seed, i) with the classes,
    writers and frame; how many are asked for changes none of them.

    Parameters
    ----------
    classes
        Characters from 0-9 and A-Z, each once, in the order of their labels.
    count
        Number of glyphs.
    frame
        (H, W) in px, each at least 8.
    seed
        Whole number from 0 to 2**64 - 1.
    writers
        How many people write, at least 1. Their hands come in turn, so that twelve
        writers have one of each.

    Raises
    ------
    GlyphError
        If a class is unknown or named twice, or a number is out of range.

    Examples
    --------
    >>> tags = write_strokes(classes="07K", count=600, frame=(32, 32), seed=4)
    >>> len(tags), tags.counts.tolist(), tags.writers[:7].tolist()
    (600, [200, 200, 200], [0, 0, 0, 1, 1, 1, 2])
    """
    names = _checked(classes, count, frame, seed, writers)
    numbers = np.arange(count, dtype=np.intp)
    return WrittenGlyphs(
        frame=(int(frame[0]), int(frame[1])),
        labels=numbers % len(names),
        classes=names,
        provenance=Provenance(
            kind="strokes",
            name="strokes",
            digest=_digest(numbers, frame, names, seed, writers),
            notes=(f"{writers} writers in {min(writers, len(HANDS))} hands, seed {seed}",),
        ),
        writers=numbers // len(names) % writers,
        numbers=numbers,
        seed=seed,
        people=writers,
    )


def _checked(
    classes: Sequence[str], count: int, frame: tuple[int, int], seed: int, writers: int
) -> tuple[str, ...]:
    """The class names, if everything asked for can be written."""
    names = tuple(classes)
    strange = [name for name in names if name not in PATHS]
    if strange or not names:
        got = ", ".join(map(repr, strange)) or "none"
        raise GlyphError(
            "strokes", "a class that no hand writes", got=got, allowed="".join(CLASSES)
        )
    if len(set(names)) < len(names):
        raise GlyphError("strokes", "a class is named twice", got="".join(names))
    limits: tuple[tuple[str, Any, int, int], ...] = (
        ("the number of glyphs", count, 1, 2**48),
        ("the seed", seed, 0, 2**64 - 1),
        ("the number of writers", writers, 1, 2**20),
        ("the height of the frame in px", frame[0], LEAST_SIDE_PX, 4096),
        ("the width of the frame in px", frame[1], LEAST_SIDE_PX, 4096),
    )
    for fact, value, low, high in limits:
        whole = isinstance(value, int | np.integer) and not isinstance(value, bool)
        if not (whole and low <= value <= high):
            allowed = f"a whole number from {low} to {high}"
            raise GlyphError("strokes", f"{fact} is out of range", got=value, allowed=allowed)
    return names


@lru_cache(maxsize=1)
def _made_of() -> str:
    """Digest of the paths and hands, so that no edit of them goes unseen."""
    return hashlib.sha256(repr((SHAPES_VERSION, PATHS, HANDS)).encode("utf-8")).hexdigest()


def _digest(
    numbers: Whole, frame: tuple[int, int], classes: tuple[str, ...], seed: int, writers: int
) -> str:
    """SHA-256 of all that decides the glyphs."""
    told = hashlib.sha256()
    size = (int(frame[0]), int(frame[1]))
    told.update(repr((_made_of(), size, classes, int(seed), int(writers))).encode("utf-8"))
    told.update(numbers.astype("<i8").tobytes())
    return told.hexdigest()
